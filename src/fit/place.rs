//! The places on a crimped body that must be filled.

use crate::catalog::{Body, Exit, Fitting, Half};

/// All kinds of fitting, in the order of a set.
pub const FITTINGS: [Fitting; 3] = [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell];

/// A place on a body that a fitting must fill. Bodies whose places are equal
/// take the same fittings at the same end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place<'a> {
    /// On which half.
    pub half: Half,
    /// What kind.
    pub fitting: Fitting,
    /// Barrel code for a ferrule, rear code for a seal or back shell.
    pub code: &'a str,
    /// For back shells, the body's exit.
    pub exit: Option<Exit>,
}

/// The places on a body; none on a device side, which takes no cable.
pub fn places(body: &Body) -> impl Iterator<Item = Place<'_>> {
    FITTINGS
        .into_iter()
        .filter(|_| body.is_crimped())
        .filter_map(|fitting| {
            Some(Place {
                half: body.half,
                fitting,
                code: body.needs(fitting)?,
                exit: body.exit.filter(|_| fitting == Fitting::BackShell),
            })
        })
}
