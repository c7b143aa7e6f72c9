//! Figures over the seeds of a size.

/// The middle value, the mean of two where there is none; none of nothing.
pub fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    match values.len() {
        0 => None,
        n if n % 2 == 1 => Some(values[middle]),
        _ => Some((values[middle - 1] + values[middle]) / 2.0),
    }
}

/// `median (worst)` with so many decimals; a dash where nothing is known, and
/// how many of `of` are known where some are not.
pub fn spread(values: Vec<f64>, of: usize, decimals: usize) -> String {
    let known = values.len();
    let worst = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let Some(median) = median(values) else {
        return "–".to_owned();
    };
    let some = if known < of {
        format!(", {known} of {of}")
    } else {
        String::new()
    };
    format!("{median:.decimals$} ({worst:.decimals$}{some})")
}
