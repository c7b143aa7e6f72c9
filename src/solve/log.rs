//! What HiGHS writes while it runs: the only word of a run before its end.

use super::answer::Pulse;

/// Reads nodes, bound and best off a line of the search table, such as
/// ` T       0       0         0   0.00%   1073.2   1104.5   2.83%  …`.
pub(super) fn pulse(line: &str) -> Option<Pulse> {
    let percent = line.find('%')?;
    let mut words = line[percent + 1..].split_whitespace();
    let bound = number(words.next()?)?;
    let best = number(words.next()?)?;
    let gap = words.next()?;
    // Nodes processed, in the queue, leaves, share explored, after a letter or none.
    let nodes = line[..percent].split_whitespace().rev().nth(3)?;
    (gap.ends_with('%') || gap == "inf" || gap == "Large").then_some(Pulse {
        best: best.is_finite().then_some(best),
        bound: bound.is_finite().then_some(bound),
        nodes: count(nodes)?,
    })
}

/// A count, which HiGHS shortens from a million on: `1412`, `1412k`, `1412m`.
fn count(word: &str) -> Option<u64> {
    let (digits, unit) = match word.strip_suffix('k') {
        Some(digits) => (digits, 1_000),
        None => word.strip_suffix('m').map_or((word, 1), |d| (d, 1_000_000)),
    };
    digits.parse::<u64>().ok()?.checked_mul(unit)
}

fn number(word: &str) -> Option<f64> {
    match word {
        "inf" | "+inf" => Some(f64::INFINITY),
        "-inf" => Some(f64::NEG_INFINITY),
        word => word.parse().ok(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_of_the_table_is_read_and_others_are_not() {
        let line = " R       0       0         0   0.00%   2.5             inf                  inf        0      0      0         2     0.0s";
        assert_eq!(
            pulse(line),
            Some(Pulse {
                best: None,
                bound: Some(2.5),
                nodes: 0,
            })
        );
        let line = "       1412      35       691  97.25%   -20.5           -8.25            148.48%       35     10      0         6     0.0s";
        assert_eq!(
            pulse(line),
            Some(Pulse {
                best: Some(-8.25),
                bound: Some(-20.5),
                nodes: 1412,
            })
        );
        let nodes = |word: &str| pulse(&line.replacen("1412", word, 1)).map(|p| p.nodes);
        assert_eq!(nodes("1412k"), Some(1_412_000));
        assert_eq!(nodes("1412m"), Some(1_412_000_000));
        assert_eq!(pulse("  Gap               0.01% (tolerance: 0.01%)"), None);
        assert_eq!(pulse("Presolving model"), None);
    }
}
