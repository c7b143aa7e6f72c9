//! A net with its branch: what the keying rule keeps apart from all others.

/// A net as it hangs on one branch. All empty branches are one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Feed {
    /// The whole net of an end.
    pub net: String,
    /// The branch; may be empty.
    pub branch: String,
}

impl From<(&str, &str)> for Feed {
    fn from((net, branch): (&str, &str)) -> Self {
        Feed {
            net: net.to_owned(),
            branch: branch.to_owned(),
        }
    }
}
