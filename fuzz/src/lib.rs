//! What the fuzz targets share.

pub mod readers;
