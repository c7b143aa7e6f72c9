//! What circuits want of the user's own attributes, and what parts have of them.

use crate::catalog::{Attribute, Catalog, Holds, Values};

/// `interlock yes, temp_c at least 125`; nothing where nothing is wanted.
pub fn wants(catalog: &Catalog, wants: &Values) -> String {
    let wanted = (catalog.attributes.iter().zip(wants)).filter_map(|(attribute, wanted)| {
        let wanted = wanted.as_ref()?;
        let measure = match attribute.holds {
            Holds::AtLeast => "at least ",
            Holds::AtMost => "at most ",
            Holds::Equal | Holds::Has | Holds::Same => "",
        };
        Some(format!("{} {measure}{wanted}", attribute.name))
    });
    wanted.collect::<Vec<String>>().join(", ")
}

/// `interlock yes, plating silver`: what a part has of these attributes.
pub fn has(catalog: &Catalog, code: &str, attributes: &[&Attribute]) -> String {
    let part = catalog.find(code).map(|id| catalog.part(id));
    let values = part.map_or(&[][..], |part| &part.values);
    let all = catalog.attributes.iter().zip(values);
    let asked = all.filter(|(attribute, _)| attributes.iter().any(|a| a.name == attribute.name));
    let has = asked.filter_map(|(attribute, value)| {
        let value = value.as_ref()?;
        Some(format!("{} {value}", attribute.name))
    });
    has.collect::<Vec<String>>().join(", ")
}
