//! Which parts of a catalog are wanted.

use super::asked::Asked;
use crate::catalog::{Body, Catalog, Ferrule, Fitting, Half, Kind, PartId, Spec};
use crate::units::{Ampere, Gauge};
use std::collections::{BTreeMap, BTreeSet};

/// Which parts are wanted; a field that is not given wants all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// Parts of this kind.
    pub kind: Option<Kind>,
    /// Parts that can go on a cable of this gauge.
    pub gauge: Option<Gauge>,
    /// Bodies rated for at least this current, and what goes on these bodies.
    pub current: Option<Ampere>,
    /// Bodies of this mating face, and what goes on these bodies.
    pub interface: Option<String>,
    /// Each of these properties; a part that is not asked for one is not wanted.
    pub properties: Vec<Asked>,
}

/// The parts that the filter wants, by code.
///
/// Bodies are chosen first; a ferrule, seal or back shell is in if one of the
/// chosen bodies takes it. A gauge is taken by a ferrule of its range, by a
/// body that such a ferrule or the body's own limits serve, and by the device
/// side that mates with such a body.
pub fn wanted(catalog: &Catalog, filter: &Filter) -> Vec<PartId> {
    let bodies = bodies(catalog, filter);
    let all = filter.gauge.is_none() && filter.current.is_none() && filter.interface.is_none();
    catalog
        .iter()
        .filter(|(_, part)| filter.kind.is_none_or(|kind| part.kind() == kind))
        .filter(|(_, part)| filter.properties.iter().all(|asked| asked.holds(part)))
        .filter(|(id, part)| match &part.spec {
            Spec::Body(_) => bodies.contains_key(id),
            Spec::Ferrule(f) => {
                filter.gauge.is_none_or(|g| takes(f, g))
                    && (all || goes_on(&bodies, Fitting::Ferrule, &f.barrel))
            }
            Spec::Seal(s) => all || goes_on(&bodies, Fitting::Seal, &s.rear),
            Spec::BackShell(b) => all || goes_on(&bodies, Fitting::BackShell, &b.rear),
        })
        .map(|(id, _)| id)
        .collect()
}

fn bodies<'c>(catalog: &'c Catalog, filter: &Filter) -> BTreeMap<PartId, &'c Body> {
    let rated: Vec<(PartId, &Body)> = catalog
        .iter()
        .filter_map(|(id, part)| part.body().map(|body| (id, body)))
        .filter(|(_, b)| filter.current.is_none_or(|a| b.rated_a >= a))
        .filter(|(_, b)| filter.interface.as_ref().is_none_or(|i| b.interface == *i))
        .collect();
    let Some(gauge) = filter.gauge else {
        return rated.into_iter().collect();
    };
    let faces: BTreeSet<(&str, &str)> = rated
        .iter()
        .filter(|(_, b)| b.half == Half::Plug && body_takes(catalog, b, gauge))
        .map(|(_, b)| (b.interface.as_str(), b.key.as_str()))
        .collect();
    rated
        .into_iter()
        .filter(|(_, b)| {
            if b.is_crimped() {
                body_takes(catalog, b, gauge)
            } else {
                faces.contains(&(b.interface.as_str(), b.key.as_str()))
            }
        })
        .collect()
}

fn body_takes(catalog: &Catalog, body: &Body, gauge: Gauge) -> bool {
    let area = gauge.area();
    let within = body.min_mm2.is_none_or(|m| m <= area) && body.max_mm2.is_none_or(|m| area <= m);
    within
        && body.needs(Fitting::Ferrule).is_none_or(|barrel| {
            catalog.parts.iter().any(|part| match &part.spec {
                Spec::Ferrule(f) => f.barrel == barrel && takes(f, gauge),
                _ => false,
            })
        })
}

fn takes(ferrule: &Ferrule, gauge: Gauge) -> bool {
    (ferrule.min_mm2..=ferrule.max_mm2).contains(&gauge.area())
}

fn goes_on(bodies: &BTreeMap<PartId, &Body>, fitting: Fitting, code: &str) -> bool {
    bodies.values().any(|b| b.needs(fitting) == Some(code))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn codes(filter: &Filter) -> Vec<String> {
        let catalog = sample::catalog();
        wanted(&catalog, filter)
            .into_iter()
            .map(|id| catalog.part(id).code.clone())
            .collect()
    }

    fn gauge(text: &str) -> Filter {
        Filter {
            gauge: text.parse().ok(),
            ..Filter::default()
        }
    }

    #[test]
    fn no_filter_wants_all() {
        assert_eq!(codes(&Filter::default()).len(), 8);
    }

    #[test]
    fn by_kind() {
        let filter = Filter {
            kind: Some(Kind::Ferrule),
            ..Filter::default()
        };
        assert_eq!(codes(&filter), ["F-50", "F-70"]);
    }

    #[test]
    fn by_gauge_on_both_sides_of_the_edges() {
        let ferrules = |text| -> Vec<String> {
            let filter = Filter {
                kind: Some(Kind::Ferrule),
                ..gauge(text)
            };
            codes(&filter)
        };
        assert_eq!(ferrules("70 mm2"), ["F-70"]);
        assert_eq!(ferrules("60 mm2"), ["F-70"]);
        assert_eq!(ferrules("2/0 AWG"), ["F-70"]);
        assert!(ferrules("59.9 mm2").is_empty());
        assert!(ferrules("70.1 mm2").is_empty());
        // With the ferrule go its bodies, their mates, and what goes on them.
        assert_eq!(codes(&gauge("70 mm2")).len(), 7);
        assert!(codes(&gauge("95 mm2")).is_empty());
    }

    #[test]
    fn by_current_and_interface() {
        let current = |a: i64| Filter {
            current: Some(Ampere(a.into())),
            ..Filter::default()
        };
        assert_eq!(codes(&current(200)).len(), 8);
        assert!(codes(&current(201)).is_empty());
        let interface = |i: &str| Filter {
            interface: Some(i.into()),
            ..Filter::default()
        };
        assert_eq!(codes(&interface("M8")).len(), 8);
        assert!(codes(&interface("M10")).is_empty());
    }
}
