//! The forms that a list can have.

use fastrand::Rng;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    Utf8,
    Utf8Mark,
    Windows1252,
    Utf16Le,
    Utf16Be,
    Workbook,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Head {
    None,
    /// Address, title, day; in a workbook with merged cells.
    Block,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Breaks {
    One,
    /// A column for each quantity.
    Columns,
    /// A column for each range of quantities.
    Ranges,
    /// A row for each quantity.
    Rows,
    /// Percent off, in columns, from so many packs or pieces on.
    Discounts,
    /// Columns of quantities and prices in turn.
    Pairs,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Fixed(u64),
    Column,
    Pack,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Amounts {
    /// `1234,50`
    Comma,
    /// `1.234,50`
    CommaDots,
    /// `kr 1 234,50`
    CommaSpaces,
    /// `1234.50`
    Point,
    /// `€ 1,234.50`
    PointCommas,
    /// `1'234.50 EUR`
    PointMarks,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lead {
    None,
    Days,
    Weeks,
    Words,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stock {
    None,
    Number,
    Words,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pack {
    None,
    Number,
    Words,
}

/// A layout of a list.
#[derive(Debug, Clone, Copy)]
pub struct Style {
    pub form: Form,
    pub separator: char,
    pub head: Head,
    pub breaks: Breaks,
    pub unit: Unit,
    pub amounts: Amounts,
    pub lead: Lead,
    pub stock: Stock,
    pub pack: Pack,
    /// Which words the headings have.
    pub language: usize,
}

/// Words of headings.
pub struct Words {
    pub article: &'static str,
    pub description: &'static str,
    pub price: &'static str,
    pub per: &'static str,
    pub per_word: &'static str,
    pub pack: &'static str,
    pub packs: &'static str,
    pub quantity: &'static str,
    pub from: &'static str,
    pub pieces: &'static str,
    pub discount: &'static str,
    pub stock: &'static str,
    pub yes: &'static str,
    pub no: &'static str,
    pub lead: &'static str,
    pub days: &'static str,
    pub weeks: &'static str,
    pub from_stock: &'static str,
    pub valid: &'static str,
}

macro_rules! words {
    ($($name:ident: $word:literal),* $(,)?) => { Words { $($name: $word),* } };
}

pub const LANGUAGES: [Words; 7] = [
    words!(article: "Item no.", description: "Description", price: "Unit price", per: "Price unit", per_word: "per",
        pack: "Pack size", packs: "packs", quantity: "Qty", from: "from", pieces: "pcs", discount: "Discount",
        stock: "In stock", yes: "Yes", no: "No", lead: "Lead time", days: "days", weeks: "weeks",
        from_stock: "from stock", valid: "Valid from"),
    words!(article: "Art.-Nr.", description: "Bezeichnung", price: "Preis", per: "Preiseinheit", per_word: "pro",
        pack: "VPE", packs: "VPE", quantity: "Menge", from: "ab", pieces: "Stk", discount: "Rabatt",
        stock: "Lagerbestand", yes: "Ja", no: "Nein", lead: "Lieferzeit", days: "Tage", weeks: "Wochen",
        from_stock: "ab Lager", valid: "gültig ab"),
    words!(article: "Référence", description: "Désignation", price: "Prix", per: "Unité de prix", per_word: "par",
        pack: "Conditionnement", packs: "paquets", quantity: "Quantité", from: "dès", pieces: "pièces",
        discount: "Remise", stock: "Disponibilité", yes: "Oui", no: "Non", lead: "Délai", days: "jours",
        weeks: "semaines", from_stock: "en stock", valid: "valable dès le"),
    words!(article: "Código", description: "Descripción", price: "Precio", per: "Unidad de precio", per_word: "por",
        pack: "Envase", packs: "paquetes", quantity: "Cantidad", from: "desde", pieces: "uds",
        discount: "Descuento", stock: "Existencias", yes: "Sí", no: "No", lead: "Plazo de entrega", days: "días",
        weeks: "semanas", from_stock: "en existencia", valid: "válido desde"),
    words!(article: "Varenr.", description: "Beskrivelse", price: "Pris", per: "Prisenhet", per_word: "per",
        pack: "Pakning", packs: "pakker", quantity: "Antall", from: "fra", pieces: "stk", discount: "Rabatt",
        stock: "På lager", yes: "Ja", no: "Nei", lead: "Leveringstid", days: "dager", weeks: "uker",
        from_stock: "på lager", valid: "gyldig fra"),
    words!(article: "Codice articolo", description: "Descrizione", price: "Prezzo", per: "Unità di prezzo",
        per_word: "per", pack: "Confezione", packs: "confezioni", quantity: "Quantità", from: "da", pieces: "pezzi",
        discount: "Sconto", stock: "Giacenza", yes: "Sì", no: "No", lead: "Tempi di consegna", days: "giorni",
        weeks: "settimane", from_stock: "a magazzino", valid: "valido dal"),
    words!(article: "Bestelnummer", description: "Omschrijving", price: "Prijs", per: "Prijseenheid",
        per_word: "per", pack: "Verpakkingseenheid", packs: "verpakkingen", quantity: "Aantal", from: "vanaf",
        pieces: "stuks", discount: "Korting", stock: "Voorraad", yes: "Ja", no: "Nee", lead: "Levertijd",
        days: "dagen", weeks: "weken", from_stock: "op voorraad", valid: "geldig vanaf"),
];

impl Style {
    pub fn words(&self) -> &'static Words {
        &LANGUAGES[self.language]
    }

    pub fn is_comma(&self) -> bool {
        matches!(
            self.amounts,
            Amounts::Comma | Amounts::CommaDots | Amounts::CommaSpaces
        )
    }

    /// The currency that goes with the sign beside the amounts.
    pub fn currency(&self) -> &'static str {
        match self.amounts {
            Amounts::CommaSpaces => "NOK",
            _ => "EUR",
        }
    }

    /// A layout for each seed: the first so many take the forms of each axis in turn, with
    /// a stride of their own, so that the axes are crossed.
    pub fn of(seed: usize) -> Style {
        let forms = [
            Form::Windows1252,
            Form::Workbook,
            Form::Utf16Le,
            Form::Utf8,
            Form::Utf8Mark,
            Form::Utf16Be,
        ];
        let breaks = [
            Breaks::Columns,
            Breaks::Ranges,
            Breaks::Discounts,
            Breaks::Rows,
            Breaks::One,
            Breaks::Pairs,
        ];
        let amounts = [
            Amounts::Comma,
            Amounts::PointCommas,
            Amounts::CommaSpaces,
            Amounts::CommaDots,
            Amounts::Point,
            Amounts::PointMarks,
        ];
        let mut rng = Rng::with_seed(seed as u64);
        let mut style = Style {
            form: forms[seed % 6],
            separator: [';', ',', '\t'][(seed + seed / 6) % 3],
            head: [Head::Block, Head::None][(seed / 2) % 2],
            breaks: breaks[(seed + seed / 6) % 6],
            unit: [
                Unit::Fixed(100),
                Unit::Fixed(1),
                Unit::Pack,
                Unit::Column,
                Unit::Fixed(10),
            ][seed % 5],
            amounts: amounts[(seed + seed / 7) % 6],
            lead: [Lead::Weeks, Lead::Days, Lead::Words, Lead::None][seed % 4],
            stock: [Stock::Number, Stock::None, Stock::Words][(seed + seed / 3) % 3],
            pack: [Pack::Number, Pack::Words, Pack::None][rng.usize(..3)],
            language: seed % 7,
        };
        if style.unit == Unit::Pack && style.pack == Pack::None {
            style.pack = Pack::Number;
        }
        style
    }
}
