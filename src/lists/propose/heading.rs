//! What a heading says.

use super::synonyms::{NOT_CAME, OF_LETTERS, PER, SYNONYMS};
use crate::lists::recipe::{Field, Per, Purpose};
use crate::lists::values::lead::{LeadUnit, unit_of};
use crate::lists::values::number::{DecimalSign, currencies};
use crate::lists::values::quantity::{Unit, quantity, whole};
use crate::lists::values::words::{self, PACKS, PIECES, Token, tokens};
use crate::units::Qty;

/// What a column may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// One of the fields.
    Field(Field),
    /// A price, or percent off it, from this quantity on.
    Break { from: Qty, is_discount: bool },
}

/// What a heading says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Guess {
    pub role: Role,
    /// The greater, the surer.
    pub score: usize,
    /// For how many pieces a price is.
    pub per: Option<Per>,
    /// The unit of a lead time.
    pub lead: Option<LeadUnit>,
    /// What is counted.
    pub unit: Option<Unit>,
    /// True for a break whose number may only be the number of the column.
    pub is_numbered: bool,
}

/// A heading that says just what a field is.
const EXACT: usize = 1_000;

/// A heading with a field's words among others.
const AMONG: usize = 500;

/// What a heading says; none where it says nothing that such papers have.
pub fn guess(heading: &str, purpose: Purpose) -> Option<Guess> {
    match purpose.is_price_list() {
        true => in_price_list(heading),
        false => in_letter(heading, purpose),
    }
}

/// What a heading of a delivery note or a confirmation says: there are no prices from
/// quantities on.
fn in_letter(heading: &str, purpose: Purpose) -> Option<Guess> {
    let tokens = tokens(heading);
    let synonyms = SYNONYMS.iter().chain(OF_LETTERS.iter());
    let synonyms = synonyms.filter(|(field, _)| purpose.takes(*field));
    let (field, score) = best(&tokens, synonyms)?;
    let words = || tokens.iter().filter_map(word);
    // What was ordered stands beside what came, or what is confirmed.
    let is_other = field == Field::Quantity && words().any(|word| NOT_CAME.contains(&word));
    if is_other && purpose == Purpose::Delivery {
        return None;
    }
    let numbers = (0..tokens.len()).filter_map(|at| per_number(&tokens, at));
    let pieces = numbers.map(Per::Pieces).next();
    // `Price per 100` names a price, and for how many pieces it is.
    let field = match (field, pieces) {
        (Field::Per, Some(_)) => Field::Price,
        (field, _) => field,
    };
    let guess = plain(field, if is_other { 1 } else { score }, &tokens);
    let is_pieces = words().any(|word| words::is(PIECES, word));
    Some(Guess {
        per: pieces.filter(|_| field == Field::Price).or(guess.per),
        unit: guess.unit.or(is_pieces.then_some(Unit::Pieces)),
        ..guess
    })
}

fn in_price_list(heading: &str) -> Option<Guess> {
    let tokens = tokens(heading);
    let known = field(&tokens);
    let numbers: Vec<usize> = (tokens.iter().enumerate())
        .filter(|(_, token)| matches!(token, Token::Number(_)))
        .map(|(at, _)| at)
        .collect();
    if let Some(per) = numbers.first().and_then(|at| per_number(&tokens, *at)) {
        let is_price =
            matches!(known, Some((Field::Price | Field::Per, _))) || has_currency(&tokens);
        return is_price
            .then(|| plain(Field::Price, EXACT, &tokens))
            .map(|guess| Guess {
                per: Some(Per::Pieces(per)),
                ..guess
            });
    }
    if !numbers.is_empty()
        && let Some(found) = a_break(&tokens, known.map(|(field, _)| field))
    {
        return Some(found);
    }
    let (field, score) = known?;
    Some(plain(field, score, &tokens))
}

fn plain(field: Field, score: usize, tokens: &[Token]) -> Guess {
    let words = || tokens.iter().filter_map(word);
    let is_packs = words().any(|word| words::is(PACKS, word));
    let is_pieces = words().any(|word| words::is(PIECES, word));
    let per = match field {
        Field::Price if is_packs => Some(Per::Pack),
        Field::Price if is_pieces => Some(Per::Pieces(1)),
        _ => None,
    };
    Guess {
        role: Role::Field(field),
        score,
        per,
        lead: words().find_map(unit_of).filter(|_| field == Field::Lead),
        unit: is_packs.then_some(Unit::Packs),
        is_numbered: false,
    }
}

fn word(token: &Token) -> Option<&str> {
    match token {
        Token::Word(word) => Some(word),
        _ => None,
    }
}

fn has_currency(tokens: &[Token]) -> bool {
    let is_sign = |sign: &char| currencies(&sign.to_string()).is_some();
    tokens.iter().any(|token| match token {
        Token::Word(word) => is_code(word),
        Token::Sign(sign) => is_sign(sign),
        Token::Number(_) => false,
    })
}

/// Codes of currencies that headings have.
fn is_code(word: &str) -> bool {
    const CODES: &[&str] = &[
        "eur", "usd", "gbp", "chf", "nok", "sek", "dkk", "pln", "czk", "huf", "cad", "aud", "jpy",
        "cny", "euro", "kr",
    ];
    CODES.contains(&word)
}

/// `per 100`, `/100`: so many pieces.
fn per_number(tokens: &[Token], at: usize) -> Option<Qty> {
    let before = at.checked_sub(1).and_then(|at| tokens.get(at))?;
    let is_per = match before {
        Token::Word(word) => PER.contains(&word.as_str()),
        Token::Sign(sign) => *sign == '/',
        Token::Number(_) => false,
    };
    let Some(Token::Number(digits)) = tokens.get(at).filter(|_| is_per) else {
        return None;
    };
    whole(digits, DecimalSign::Point).filter(|n| *n > 0)
}

/// A price or a discount from a quantity on.
fn a_break(tokens: &[Token], known: Option<Field>) -> Option<Guess> {
    // A number alone is a value.
    if tokens.len() == 1 {
        return None;
    }
    let is_discount = known == Some(Field::Discount) || tokens.contains(&Token::Sign('%'));
    let of_other = known.is_some_and(|field| {
        !matches!(
            field,
            Field::Price | Field::Discount | Field::Quantity | Field::Pack | Field::Per
        )
    });
    if of_other {
        return None;
    }
    // What is left without the words for prices, discounts and currencies is the quantity.
    let is_left = |token: &&Token| match token {
        Token::Word(word) => !is_money(word) && !is_code(word),
        Token::Sign(sign) => *sign != '%' && currencies(&sign.to_string()).is_none(),
        Token::Number(_) => true,
    };
    let left: Vec<String> = tokens.iter().filter(is_left).map(shown).collect();
    let found = quantity(&left.join(" "), DecimalSign::Point)?;
    Some(Guess {
        role: Role::Break {
            from: found.count.max(1),
            is_discount,
        },
        score: AMONG,
        per: None,
        lead: None,
        unit: found.unit,
        is_numbered: left.len() == 1 && left.len() < tokens.len(),
    })
}

/// Words for a price or a discount.
fn is_money(word: &str) -> bool {
    let is_of = |field| matches!(field, Field::Price | Field::Discount);
    let padded = format!(" {word} ");
    let mut all = SYNONYMS.iter();
    all.any(|(field, synonym)| is_of(*field) && *synonym == padded)
        || matches!(word, "staffel" | "staffelpreis" | "break")
}

fn shown(token: &Token) -> String {
    match token {
        Token::Word(text) | Token::Number(text) => text.clone(),
        Token::Sign(sign) => sign.to_string(),
    }
}

/// The field whose words a heading has.
fn field(tokens: &[Token]) -> Option<(Field, usize)> {
    best(tokens, SYNONYMS.iter())
}

/// The field of the words that say most of a heading.
fn best<'s>(
    tokens: &[Token],
    synonyms: impl Iterator<Item = &'s (Field, String)>,
) -> Option<(Field, usize)> {
    let words: Vec<&str> = tokens.iter().filter_map(word).collect();
    let text = format!(" {} ", words.join(" "));
    let mut best: Option<(Field, usize)> = None;
    let mut price = 0;
    for (field, synonym) in synonyms {
        let score = match text.contains(synonym) {
            true if text == *synonym => EXACT + synonym.len(),
            true => AMONG + synonym.len(),
            false => continue,
        };
        if *field == Field::Price {
            price = price.max(score);
        }
        if score > best.map_or(0, |(_, best)| best) {
            best = Some((*field, score));
        }
    }
    // `price per pack`: what the price is for stands beside it.
    match best {
        Some((Field::Pack | Field::Per, score)) if score < EXACT && price > 0 => {
            Some((Field::Price, price))
        }
        best => best,
    }
}

/// What a heading says without its number: for columns that are numbered.
pub fn without_number(heading: &str) -> Option<Field> {
    let tokens = tokens(heading);
    let words: Vec<Token> = tokens
        .into_iter()
        .filter(|t| !matches!(t, Token::Number(_)))
        .collect();
    field(&words).map(|(field, _)| field)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guess(heading: &str) -> Option<Guess> {
        super::guess(heading, Purpose::Prices)
    }

    #[test]
    fn headings_of_delivery_notes_and_confirmations() {
        let field = |heading, purpose| match super::guess(heading, purpose)?.role {
            Role::Field(field) => Some(field),
            Role::Break { .. } => panic!("{heading}"),
        };
        for (heading, is) in [
            ("Art.-Nr.", Some(Field::Article)),
            ("Gelieferte Menge", Some(Field::Quantity)),
            ("Qty delivered", Some(Field::Quantity)),
            ("Anzahl (Stk)", Some(Field::Quantity)),
            ("Qté livrée", Some(Field::Quantity)),
            ("Antall levert", Some(Field::Quantity)),
            ("Aantal geleverd", Some(Field::Quantity)),
            ("Quantità consegnata", Some(Field::Quantity)),
            ("Cantidad entregada", Some(Field::Quantity)),
            ("VPE", Some(Field::Pack)),
            // These are no column of a delivery note.
            ("Qty ordered", None),
            ("Menge offen", None),
            ("Unit price", None),
            ("Liefertermin", None),
            ("MOQ", None),
        ] {
            assert_eq!(field(heading, Purpose::Delivery), is, "{heading}");
        }
        for (heading, is) in [
            ("Confirmed qty", Some(Field::Quantity)),
            ("Qty ordered", Some(Field::Quantity)),
            ("Unit price", Some(Field::Price)),
            ("Preis pro 100", Some(Field::Price)),
            ("Liefertermin", Some(Field::Date)),
            ("Delivery date", Some(Field::Date)),
            ("Lead time (weeks)", Some(Field::Lead)),
            ("Currency", Some(Field::Currency)),
            ("In stock", None),
        ] {
            assert_eq!(field(heading, Purpose::Confirmation), is, "{heading}");
        }
        let of = |heading| super::guess(heading, Purpose::Confirmation).unwrap();
        assert!(of("Confirmed qty").score > of("Qty ordered").score);
        assert_eq!(of("Preis pro 100").per, Some(Per::Pieces(100)));
        assert_eq!(of("Menge VPE").unit, Some(Unit::Packs));
        assert_eq!(of("Menge (Stk)").unit, Some(Unit::Pieces));
        assert_eq!(of("Menge").unit, None);
    }

    #[test]
    fn headings_of_seven_languages() {
        for (heading, field) in [
            ("Art.-Nr.", Field::Article),
            ("Artikelnummer", Field::Article),
            ("Item no.", Field::Article),
            ("Référence", Field::Article),
            ("Código", Field::Article),
            ("Varenr.", Field::Article),
            ("Codice articolo", Field::Article),
            ("Bestelnummer", Field::Article),
            ("Ihre Art.-Nr.", Field::Part),
            ("Your part no", Field::Part),
            ("Hersteller-Nr.", Field::Type),
            ("Bezeichnung", Field::Description),
            ("Désignation", Field::Description),
            ("Preis EUR", Field::Price),
            ("Net price", Field::Price),
            ("Prix unitaire HT", Field::Price),
            ("Enhetspris", Field::Price),
            ("Preiseinheit", Field::Per),
            ("Price unit", Field::Per),
            ("Währung", Field::Currency),
            ("VPE", Field::Pack),
            ("Pack size", Field::Pack),
            ("MOQ", Field::Least),
            ("Cantidad mínima", Field::Least),
            ("ab Menge", Field::Quantity),
            ("Lagerbestand", Field::Stock),
            ("Disponibilità", Field::Stock),
            ("Lieferzeit (Wochen)", Field::Lead),
            ("Délai de livraison", Field::Lead),
            ("Levertijd", Field::Lead),
            ("Gültig ab", Field::Date),
            ("Rabatt %", Field::Discount),
        ] {
            let guess = guess(heading).unwrap_or_else(|| panic!("{heading}"));
            assert_eq!(guess.role, Role::Field(field), "{heading}");
        }
        assert_eq!(guess("Farbe"), None);
        assert_eq!(guess(""), None);
    }

    #[test]
    fn breaks_in_headings() {
        for (heading, from, is_discount) in [
            ("ab 10 Stk", 10, false),
            ("from 100", 100, false),
            ("10+", 10, false),
            ("10-49", 10, false),
            ("Preis ab 25", 25, false),
            ("EUR ab 100 Stück", 100, false),
            ("dès 50", 50, false),
            ("Rabatt ab 5 VPE", 5, true),
            ("% from 20 packs", 20, true),
            ("Price 1-9 pcs", 1, false),
        ] {
            let guess = guess(heading).unwrap_or_else(|| panic!("{heading}"));
            assert_eq!(guess.role, Role::Break { from, is_discount }, "{heading}");
            assert!(!guess.is_numbered, "{heading}");
        }
        assert!(guess("Preis 2").unwrap().is_numbered);
        assert_eq!(without_number("Menge 2"), Some(Field::Quantity));
    }

    #[test]
    fn prices_for_several_pieces() {
        let per = |heading| guess(heading).and_then(|guess| guess.per);
        assert_eq!(per("Preis per 100"), Some(Per::Pieces(100)));
        assert_eq!(per("Preis €/100 Stk"), Some(Per::Pieces(100)));
        assert_eq!(per("EUR pro 10"), Some(Per::Pieces(10)));
        assert_eq!(per("Price per pack"), Some(Per::Pack));
        assert_eq!(per("VPE-Preis"), Some(Per::Pack));
        assert_eq!(per("Prix / paquet"), Some(Per::Pack));
        assert_eq!(per("Preis pro VPE"), Some(Per::Pack));
        assert_eq!(per("Preis pro Stück"), Some(Per::Pieces(1)));
        assert_eq!(per("Price"), None);
        assert_eq!(
            guess("Lead time (weeks)").unwrap().lead,
            Some(LeadUnit::Weeks)
        );
    }
}
