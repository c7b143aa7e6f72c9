//! As much of a reader of HTML as our own pages need: elements, their
//! attributes, their text, their tables.

use std::collections::BTreeMap;

/// An element.
#[derive(Debug, Default)]
pub struct Element {
    pub tag: String,
    pub attributes: BTreeMap<String, String>,
    children: Vec<Child>,
}

#[derive(Debug)]
enum Child {
    Element(Element),
    Text(String),
}

/// Elements without an end.
const VOID: [&str; 4] = ["meta", "link", "br", "img"];

impl Element {
    /// A whole page; whatever is left open or closed twice panics.
    pub fn page(text: &str) -> Element {
        let mut open = vec![Element::default()];
        let mut rest = text.strip_prefix("<!DOCTYPE html>").expect("a page");
        while let Some(at) = rest.find('<') {
            top(&mut open)
                .children
                .push(Child::Text(decoded(&rest[..at])));
            let end = at + rest[at..].find('>').expect("a tag ends");
            let tag = &rest[at + 1..end];
            rest = &rest[end + 1..];
            if let Some(name) = tag.strip_prefix('/') {
                let closed = open.pop().expect("open");
                assert_eq!(closed.tag, name);
                top(&mut open).children.push(Child::Element(closed));
                continue;
            }
            let element = begun(tag);
            if VOID.contains(&element.tag.as_str()) {
                top(&mut open).children.push(Child::Element(element));
                continue;
            }
            if ["script", "style"].contains(&element.tag.as_str()) {
                rest = &rest[rest.find("</").expect("it ends")..];
            }
            open.push(element);
        }
        assert_eq!(open.len(), 1, "all is closed");
        open.remove(0)
    }

    /// All elements below with this tag, in their order.
    pub fn all<'e>(&'e self, tag: &str) -> Vec<&'e Element> {
        let mut found = Vec::new();
        self.find(&|element| element.tag == tag, &mut found);
        found
    }

    /// All elements below of this class.
    pub fn of_class<'e>(&'e self, class: &str) -> Vec<&'e Element> {
        let mut found = Vec::new();
        let is_of = |element: &Element| {
            let classes = element.attributes.get("class");
            classes.is_some_and(|all| all.split(' ').any(|one| one == class))
        };
        self.find(&is_of, &mut found);
        found
    }

    /// The element below with this `id`.
    pub fn id(&self, id: &str) -> &Element {
        let mut found = Vec::new();
        self.find(&|element| element.has_id(id), &mut found);
        assert_eq!(found.len(), 1, "{id}");
        found[0]
    }

    fn has_id(&self, id: &str) -> bool {
        self.attributes.get("id").is_some_and(|own| own == id)
    }

    fn find<'e>(&'e self, is_wanted: &dyn Fn(&Element) -> bool, found: &mut Vec<&'e Element>) {
        for child in &self.children {
            if let Child::Element(element) = child {
                if is_wanted(element) {
                    found.push(element);
                }
                element.find(is_wanted, found);
            }
        }
    }

    /// An attribute as a number.
    pub fn number(&self, name: &str) -> f64 {
        self.attributes[name].parse().expect("a number")
    }

    /// All text below, white space as one space.
    pub fn text(&self) -> String {
        let mut all = String::new();
        self.add_text(&mut all);
        all.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn add_text(&self, all: &mut String) {
        for child in &self.children {
            match child {
                Child::Text(text) => all.push_str(text),
                Child::Element(element) => element.add_text(all),
            }
        }
    }

    /// The rows of the one table below, by the heads of their columns.
    pub fn rows(&self) -> Vec<BTreeMap<String, String>> {
        let heads = texts(self.all("thead")[0].all("tr")[0]);
        let rows = self.all("tbody")[0].all("tr").into_iter().map(texts);
        rows.map(|cells| {
            assert_eq!(cells.len(), heads.len(), "{cells:?}");
            heads.iter().cloned().zip(cells).collect()
        })
        .collect()
    }

    /// The sums below the table: name and amount.
    pub fn sums(&self) -> Vec<(String, String)> {
        let feet = self.all("tfoot");
        let rows = feet.iter().flat_map(|foot| foot.all("tr"));
        rows.map(|row| {
            let cells = texts(row);
            (cells[0].clone(), cells[1].clone())
        })
        .collect()
    }

    /// The terms of the definition lists below, with what they are.
    pub fn facts(&self) -> BTreeMap<String, String> {
        let names = self.all("dt").into_iter().map(Element::text);
        let facts = self.all("dd").into_iter().map(Element::text);
        names.zip(facts).collect()
    }
}

/// The texts of the cells of a row.
fn texts(row: &Element) -> Vec<String> {
    let cells = row.children.iter().filter_map(|child| match child {
        Child::Element(cell) => Some(cell.text()),
        Child::Text(_) => None,
    });
    cells.collect()
}

fn top(open: &mut [Element]) -> &mut Element {
    open.last_mut().expect("an element is open")
}

/// `<p class="a b" id='x' hidden>` without its signs.
fn begun(tag: &str) -> Element {
    let (name, mut rest) = tag.split_once(' ').unwrap_or((tag, ""));
    let mut attributes = BTreeMap::new();
    while let Some((name, after)) = rest.split_once("=\"") {
        let (value, after) = after.split_once('"').expect("the value ends");
        attributes.insert(name.trim().to_owned(), decoded(value));
        rest = after;
    }
    Element {
        tag: name.to_owned(),
        attributes,
        children: Vec::new(),
    }
}

/// With its character references (`&#60;`) as characters.
fn decoded(text: &str) -> String {
    let mut parts = text.split('&');
    let mut all = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (name, rest) = part.split_once(';').expect("a reference ends");
        let number = name.strip_prefix('#').and_then(|n| n.parse().ok());
        all.push(number.and_then(char::from_u32).expect("a character"));
        all.push_str(rest);
    }
    all
}

#[test]
fn a_page_is_read() {
    let page = Element::page(
        "<!DOCTYPE html>\n<html><head><meta a=\"b\"><style>a > b { }</style></head>\
         <body><p class=\"x y\">one\n <b>two</b>&#60;</p><table><thead><tr><th>n</th></tr></thead>\
         <tbody><tr><td>1</td></tr></tbody><tfoot><tr><th colspan=\"2\">s</th><td>3</td></tr></tfoot>\
         </table></body></html>",
    );
    assert_eq!(page.of_class("y")[0].text(), "one two<");
    assert_eq!(page.rows()[0]["n"], "1");
    assert_eq!(page.sums(), [("s".to_owned(), "3".to_owned())]);
}
