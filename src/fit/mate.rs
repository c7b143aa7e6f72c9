//! Rule `mate`: one plug and one receptacle of equal interface and key.

use super::Identity;
use crate::catalog::Body;

/// True if the two bodies mate.
pub fn mates(one: &Body, other: &Body) -> bool {
    one.half != other.half && one.interface == other.interface && one.key == other.key
}

/// What must be equal for two halves to mate.
pub fn identity(body: &Body) -> Identity {
    Identity {
        interface: body.interface.clone(),
        key: body.key.clone(),
    }
}
