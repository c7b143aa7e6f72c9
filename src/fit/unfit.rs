//! Why nothing can be planned: an end without a set, or more than fits into memory.

use super::no_set::NoSet;

/// The most ends of a project.
pub const MAX_ENDS: usize = 100_000;

/// The most choices of a project: the bodies that can serve each place with its net and
/// gauge, added up. So many take about 2 GB while a plan is searched for.
pub const MAX_CHOICES: usize = 5_000_000;

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// Some ends have no compatible set.
    #[error(transparent)]
    NoSet(#[from] NoSet),
    /// More than can be planned at once.
    #[error("{what}: {number}, but at most {most} can be planned at once")]
    TooLarge {
        /// What there is too much of.
        what: &'static str,
        /// How much there is.
        number: usize,
        /// How much there may be.
        most: usize,
    },
}

impl Unfit {
    /// What the user can do about a project that is too large.
    pub const CURE: &'static str = "plan the project in parts, or take parts that no circuit needs \
                                    out of the catalog";
}

/// Holds a number against its limit.
///
/// # Errors
/// [`Unfit::TooLarge`] above the limit.
pub(super) fn at_most(what: &'static str, number: usize, most: usize) -> Result<(), Unfit> {
    match number > most {
        true => Err(Unfit::TooLarge { what, number, most }),
        false => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_itself_is_allowed() {
        assert_eq!(at_most("ends", MAX_ENDS, MAX_ENDS), Ok(()));
        let error = at_most("ends", MAX_ENDS + 1, MAX_ENDS).unwrap_err();
        let said = "ends: 100001, but at most 100000 can be planned at once";
        assert_eq!(error.to_string(), said);
    }
}
