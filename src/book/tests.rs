
use super::*;
