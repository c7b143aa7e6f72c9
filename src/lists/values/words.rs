//! Words that suppliers write into cells, in English, German, French, Spanish, Norwegian,
//! Italian and Dutch: common practice, no published source.

/// A piece of a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Token {
    /// Letters, in small letters.
    Word(String),
    /// A number as it is written, with its separators.
    Number(String),
    /// Any other sign.
    Sign(char),
}

/// The words, numbers and signs of a cell; white space is left out.
pub fn tokens(text: &str) -> Vec<Token> {
    let chars: Vec<char> = text.chars().collect();
    let mut tokens = Vec::new();
    let mut at = 0;
    while let Some(&c) = chars.get(at) {
        if c.is_ascii_digit() {
            let end = end_of_number(&chars, at);
            tokens.push(Token::Number(run(&chars, at, end)));
            at = end;
        } else if c.is_alphabetic() {
            let rest = chars.get(at..).unwrap_or_default();
            let end = at + rest.iter().take_while(|c| c.is_alphabetic()).count();
            tokens.push(Token::Word(run(&chars, at, end).to_lowercase()));
            at = end;
        } else {
            if !c.is_whitespace() {
                tokens.push(Token::Sign(c));
            }
            at += 1;
        }
    }
    tokens
}

fn run(chars: &[char], from: usize, to: usize) -> String {
    chars.get(from..to).unwrap_or_default().iter().collect()
}

/// Where a number ends: separators count only between digits, and a space only before
/// three digits.
fn end_of_number(chars: &[char], start: usize) -> usize {
    let is_digit = |at: usize| chars.get(at).is_some_and(char::is_ascii_digit);
    let mut at = start;
    loop {
        while is_digit(at) {
            at += 1;
        }
        let three = is_digit(at + 1) && is_digit(at + 2) && is_digit(at + 3) && !is_digit(at + 4);
        let is_group = at - start <= 3 || has_group(chars, start, at);
        let goes_on = match chars.get(at) {
            Some('.' | ',') => is_digit(at + 1),
            Some('\'' | '’') => three,
            Some(c) if c.is_whitespace() => three && is_group,
            _ => false,
        };
        if !goes_on {
            return at;
        }
        at += 1;
    }
}

/// True if the number so far has a space in it, so that further groups may follow.
fn has_group(chars: &[char], start: usize, end: usize) -> bool {
    let so_far = chars.get(start..end).unwrap_or_default();
    so_far.iter().any(|c| c.is_whitespace())
}

/// A text as it is compared: in small letters, with one space for each run of white space.
pub fn small(text: &str) -> String {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    words.join(" ")
}

/// Pieces.
pub const PIECES: Words = Words(
    "pc, pcs, pce, pces, piece, pieces, ea, each, unit, units, stk, stck, stück, st, pièce, \
     pièces, unité, unités, ud, uds, pza, pzas, pieza, piezas, unidad, unidades, stykk, \
     stykker, pz, pezzo, pezzi, stuk, stuks",
);

/// Packs.
pub const PACKS: Words = Words(
    "pack, packs, package, packages, pk, pkg, pkt, box, boxes, bag, bags, vpe, ve, packung, \
     packungen, pck, beutel, gebinde, verpackungseinheit, paquet, paquets, sachet, sachets, \
     boîte, boîtes, paquete, paquetes, caja, cajas, bolsa, bolsas, pakke, pakker, pakning, \
     eske, confezione, confezioni, conf, scatola, scatole, verpakking, verpakkingen, pak, \
     doos, zak",
);

/// Words before or after a quantity from which a price holds.
pub const FROM: Words = Words(
    "from, ab, min, mind, mindestens, minimum, à, a, partir, de, dès, desde, fra, da, vanaf, \
     at, least, per, qty, menge, quantité, cantidad, antall, quantità, aantal, x, er",
);

/// Words after a quantity from which a price holds.
pub const MORE: Words = Words(
    "and, or, more, und, oder, mehr, et, ou, plus, y, o, más, og, eller, flere, e, più, en, of, \
     meer, up, upwards",
);

/// Words that say that a quantity itself is not meant, but more.
pub const ABOVE: Words = Words("über, above, over");

/// Words between the ends of a range.
pub const TO: Words = Words("to, bis, jusqu, au, hasta, til, al, tot, à, a, t, m");

/// Words that a number is not exact.
pub const ABOUT: Words = Words(
    "ca, circa, about, approx, approximately, etwa, rund, environ, env, aprox, unos, omtrent, \
     cirka, ongeveer, max, maximum, bis, up, to, in",
);

/// What comes from stock.
pub const FROM_STOCK: Words = Words(
    "from stock, ex stock, in stock, on stock, stock, immediate, immediately, ab lager, \
     auf lager, am lager, lagernd, lager, sofort, lagerware, en stock, du stock, de stock, \
     immédiat, disponible, en existencia, inmediato, på lager, fra lager, straks, a magazzino, \
     in magazzino, pronta consegna, disponibile, immediato, uit voorraad, op voorraad, \
     op voorraad leverbaar, direct leverbaar, sofort lieferbar, ab lager lieferbar, lieferbar",
);

/// There is some.
pub const YES: Words = Words(
    "yes, y, ja, j, oui, sí, si, sì, available, verfügbar, vorhanden, tilgjengelig, \
     beschikbaar",
);

/// There is none.
pub const NO: Words = Words(
    "no, n, nein, non, nei, nee, none, out of stock, sold out, nicht auf lager, nicht lagernd, \
     ausverkauft, nicht verfügbar, rupture, épuisé, en rupture, agotado, sin existencias, \
     ikke på lager, utsolgt, esaurito, non disponibile, niet op voorraad, uitverkocht, \
     not in stock, not available",
);

/// Words beside the number of a stock.
pub const OF_STOCK: Words =
    Words("bestand, lager, stock, lagerbestand, existencias, beholdning, giacenza, voorraad");

/// Days.
pub const DAYS: Words = Words(
    "d, day, days, tag, tage, tagen, t, jour, jours, j, día, días, dia, dias, dag, dager, \
     giorno, giorni, gg, dagen",
);

/// Days on which people work, in one word.
pub const WORKING_DAYS: Words = Words(
    "at, arbeitstag, arbeitstage, arbeitstagen, werktag, werktage, werktagen, virkedag, \
     virkedager, werkdag, werkdagen, wd",
);

/// Beside a word for days: days on which people work.
pub const WORKING: Words = Words(
    "working, business, work, ouvré, ouvrés, ouvrables, hábiles, hábil, laborables, \
     lavorativi, lavorativo",
);

/// Weeks.
pub const WEEKS: Words = Words(
    "w, wk, wks, week, weeks, wo, woche, wochen, wch, sem, semaine, semaines, semana, semanas, \
     uke, uker, settimana, settimane, sett, weken",
);

/// Months.
pub const MONTHS: Words = Words(
    "month, months, mo, monat, monate, monaten, mois, mes, meses, måned, måneder, mese, mesi, \
     maand, maanden",
);

/// A price is not told.
pub const NO_PRICE: Words = Words(
    "on request, on application, poa, p.o.a., tba, n/a, -, –, —, auf anfrage, a. a., \
     sur demande, sur devis, a consultar, bajo pedido, på forespørsel, su richiesta, \
     op aanvraag, nicht mehr lieferbar, discontinued",
);

/// Words with commas between.
#[derive(Debug, Clone, Copy)]
pub struct Words(&'static str);

/// True if the word is one of the list.
pub fn is(list: Words, word: &str) -> bool {
    list.0.split(',').any(|known| known.trim() == word)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> Vec<String> {
        let one = |token: Token| match token {
            Token::Word(word) => word,
            Token::Number(number) => format!("#{number}"),
            Token::Sign(sign) => sign.to_string(),
        };
        tokens(text).into_iter().map(one).collect()
    }

    #[test]
    fn cells_fall_into_words_numbers_and_signs() {
        assert_eq!(shown("ab 10 Stk."), ["ab", "#10", "stk", "."]);
        assert_eq!(shown("10-49"), ["#10", "-", "#49"]);
        assert_eq!(shown("kr 1\u{a0}058,23"), ["kr", "#1\u{a0}058,23"]);
        assert_eq!(shown("1 000 000"), ["#1 000 000"]);
        assert_eq!(shown("10 1000"), ["#10", "#1000"]);
        assert_eq!(shown("Ja (12)"), ["ja", "(", "#12", ")"]);
        assert_eq!(shown("1'234.50"), ["#1'234.50"]);
        assert_eq!(shown("5."), ["#5", "."]);
    }

    #[test]
    fn texts_are_compared_in_small_letters() {
        assert_eq!(small("  Ab\u{a0} LAGER\n"), "ab lager");
    }
}
