//! The way of a line as SVG path data.

use super::place::{Port, Way};
use std::fmt::Write;

/// The way from port to port: straight beside the boxes and past the layers between
/// them, with bends in between.
pub fn data(way: &Way, stub: f64) -> String {
    let mut path = Path::from(way.from.x, way.from.y);
    if way.from.to_right == way.to.to_right {
        around(&mut path, way, stub);
        return path.data;
    }
    path.straight(out(way.from, stub));
    for pass in &way.passes {
        let (near, far) = if way.from.to_right {
            (pass.left, pass.right)
        } else {
            (pass.right, pass.left)
        };
        path.bend(near, pass.y);
        path.straight(far);
    }
    path.bend(out(way.to, stub), way.to.y);
    path.straight(way.to.x);
    path.data
}

/// The way of a line back to the box that it leaves.
fn around(path: &mut Path, way: &Way, stub: f64) {
    let out = out(way.from, stub);
    path.straight(out);
    path.curve(
        (out + stub / 2.0, way.from.y),
        (out + stub / 2.0, way.to.y),
        (out, way.to.y),
    );
    path.straight(way.to.x);
}

fn out(port: Port, stub: f64) -> f64 {
    port.x + if port.to_right { stub } else { -stub }
}

struct Path {
    data: String,
    x: f64,
    y: f64,
}

impl Path {
    fn from(x: f64, y: f64) -> Self {
        Self {
            data: format!("M{x:.1} {y:.1}"),
            x,
            y,
        }
    }

    fn straight(&mut self, x: f64) {
        // Writing to a string does not fail.
        let _ = write!(self.data, "H{x:.1}");
        self.x = x;
    }

    /// A bend that is level at both ends.
    fn bend(&mut self, x: f64, y: f64) {
        let half = (self.x + x) / 2.0;
        self.curve((half, self.y), (half, y), (x, y));
    }

    fn curve(&mut self, a: (f64, f64), b: (f64, f64), end: (f64, f64)) {
        let _ = write!(
            self.data,
            "C{:.1} {:.1} {:.1} {:.1} {:.1} {:.1}",
            a.0, a.1, b.0, b.1, end.0, end.1
        );
        (self.x, self.y) = end;
    }
}
