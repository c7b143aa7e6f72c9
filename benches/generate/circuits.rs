//! Circuits: two to five nets at a location.

use super::{CABLES, Cable, Draw};
use std::fmt::Write as _;

impl Draw {
    /// Groups of a bus, an inverter and a motor: two, five and three nets.
    pub(super) fn circuits(&mut self, count: usize) {
        let groups = count.div_ceil(8);
        for n in 0..count {
            let group = n / 8;
            let (bus, next) = (
                format!("bus {group}"),
                format!("bus {}", (group + 1) % groups),
            );
            let (inverter, motor) = (format!("inverter {group}"), format!("motor {group}"));
            let small = format!("consumer {}", n % (3 * groups));
            let (nets, from, to) = match n % 8 {
                0 => ("U V W", inverter, motor),
                1 => ("HV+ HV-", bus, inverter),
                2 => ("HV+ PRE HV-", format!("battery {group}"), bus),
                3 => ("HV+ HV-", bus, next),
                4 if self.chance(50) => ("HV+ HV- IL", bus, small),
                _ => ("HV+ HV-", bus, small),
            };
            self.circuit(n, nets, (&from, &to));
        }
    }

    fn circuit(&mut self, n: usize, nets: &str, (from, to): (&str, &str)) {
        let multi = nets == "HV+ HV-" && self.chance(12);
        let class = match n % 8 {
            _ if multi => 0,
            0..=3 => self.pick(&[1, 2, 2]),
            _ => self.pick(&[0, 0, 1]),
        };
        let size = self.rng.usize(..CABLES[class].len());
        let cable = &CABLES[class][size];
        let kind = if multi { "multi" } else { "" };
        let attach = [self.attach(), self.attach()];
        let exit = [self.exit(), self.exit()];
        let ip = if self.chance(60) {
            self.pick(&["IP67", "IP67", "IP67", "IP6K9K"])
        } else {
            ""
        };
        let Cable {
            gauge, od, amps, ..
        } = cable;
        let _ = writeln!(
            self.files.circuits,
            "C{n:04},{nets},{kind},{from},{to},{amps},400,{gauge},{od:.1},{},{},{},{},{ip},orange",
            attach[0], attach[1], exit[0], exit[1]
        );
    }

    fn attach(&mut self) -> &'static str {
        let all = ["busbar", "stud", "crimp", "none"];
        let weights = [60, 30, 5, 5];
        let mut at = self.rng.u32(..100);
        for (word, weight) in all.into_iter().zip(weights) {
            if at < weight {
                return word;
            }
            at -= weight;
        }
        all[0]
    }

    fn exit(&mut self) -> &'static str {
        if self.chance(80) {
            ""
        } else {
            self.pick(&["straight", "straight", "right-angle"])
        }
    }
}
