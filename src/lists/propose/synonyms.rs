//! Headings in English, German, French, Spanish, Norwegian, Italian and Dutch: common
//! practice, no published source. In small letters, without signs.

use crate::lists::recipe::Field;
use std::sync::LazyLock;

/// What a heading says, as a field's words with a space on each side.
pub static SYNONYMS: LazyLock<Vec<(Field, String)>> =
    LazyLock::new(|| FIELDS.iter().flat_map(padded).collect());

/// Each of the words of a field with a space on each side.
fn padded((field, words): &(Field, &'static str)) -> impl Iterator<Item = (Field, String)> {
    let field = *field;
    let words = words.split(',');
    words.map(move |words| (field, format!(" {} ", words.trim())))
}

/// What headings say, by field.
const FIELDS: &[(Field, &str)] = &[
    (
        Field::Article,
        "article, article no, article number, art no, item, item no, item number, item code, \
         part no, part number, order code, order no, order number, stock code, sku, code, \
         product code, catalogue no, catalogue number, cat no, ref, ref no, reference, art nr, \
         artnr, artikel, artikelnr, artikelnummer, artikel nr, artikel no, best nr, bestellnr, \
         bestellnummer, bestell nr, materialnummer, materialnr, sachnummer, référence, réf, \
         code article, n article, nº article, n d article, no article, numéro d article, \
         référence article, referencia, código, codigo, código artículo, código de artículo, \
         artículo, nº artículo, n artículo, nº de artículo, varenr, varenummer, vare nr, \
         artikkelnr, artikkelnummer, bestillingsnr, codice, codice articolo, cod art, \
         cod articolo, articolo, riferimento, bestelnr, bestelnummer, bestelcode, nr, no, nº, \
         number, nummer, número, numero, numéro, artikelcode",
    ),
    (
        Field::Part,
        "your part, your no, your part no, your part number, your article, your article no, \
         your code, your ref, your reference, customer part, customer part no, customer no, \
         customer code, ihre art nr, ihre artikelnr, ihre nr, ihre artikelnummer, ihre nummer, \
         kunden art nr, kundenartikelnr, kundenartikelnummer, kundenmaterial, kundennummer, \
         votre référence, votre réf, votre code, réf client, référence client, su referencia, \
         su código, ref cliente, referencia cliente, deres varenr, deres nr, kundens varenr, \
         vostro codice, codice cliente, vs codice, uw artikelnr, uw artikelnummer, uw code, \
         klant artikelnr",
    ),
    (
        Field::Type,
        "type, type no, typ, model, mpn, manufacturer part, manufacturer part no, \
         manufacturer part number, manufacturer no, maker s type, mfr part, mfr part no, \
         mfg part, hersteller nr, herstellernr, herstellernummer, hersteller artikelnummer, \
         hersteller art nr, hersteller typ, typbezeichnung, modell, modèle, \
         référence fabricant, réf fabricant, modelo, ref fabricante, referencia fabricante, \
         tipo, produsentnr, produsentens varenr, produsentens nr, modello, codice produttore, \
         fabrikantnr, fabrikant nr, fabrikantcode, typenummer, typenr, type nr",
    ),
    (
        Field::Description,
        "description, designation, name, product, product name, item description, text, \
         bezeichnung, beschreibung, artikelbezeichnung, artikeltext, benennung, produkt, \
         désignation, libellé, produit, descripción, descripcion, denominación, producto, \
         beskrivelse, betegnelse, varetekst, benevnelse, descrizione, denominazione, prodotto, \
         omschrijving, beschrijving, benaming, naam",
    ),
    (
        Field::Price,
        "price, unit price, net price, list price, price each, net, cost, preis, einzelpreis, \
         stückpreis, nettopreis, listenpreis, preis netto, vk, vk preis, netto, prix, \
         prix unitaire, prix net, pu ht, prix ht, precio, precio unitario, precio neto, pris, \
         enhetspris, stykkpris, nettopris, pris netto, prezzo, prezzo unitario, prezzo netto, \
         prijs, stukprijs, eenheidsprijs, nettoprijs",
    ),
    (
        Field::Per,
        "per, price unit, price per, unit of price, pe, preiseinheit, preis einheit, \
         preis pro, einheit, unit, uom, me, mengeneinheit, unité, unité de prix, prix par, \
         unidad, unidad de precio, precio por, enhet, prisenhet, pris per, pris pr, unità, \
         unità di prezzo, prezzo per, eenheid, prijseenheid, prijs per",
    ),
    (
        Field::Discount,
        "discount, disc, rabatt, nachlass, remise, rabais, descuento, dto, sconto, korting",
    ),
    (
        Field::Currency,
        "currency, cur, curr, währung, whg, devise, monnaie, moneda, divisa, valuta",
    ),
    (
        Field::Pack,
        "pack, pack size, package, pack qty, pack quantity, packing, packing unit, \
         pcs per pack, pieces per pack, qty per pack, vpe, ve, verpackungseinheit, \
         packungsgröße, packung, inhalt, stück pro vpe, conditionnement, cond, \
         unités par paquet, pièces par paquet, qté par paquet, paquet, envase, \
         unidades por paquete, piezas por paquete, paquete, embalaje, pakning, \
         pakningsstørrelse, antall per pakke, stk per pakke, forpakning, pakke, confezione, \
         conf, pezzi per confezione, imballo, verpakking, verpakkingseenheid, \
         stuks per verpakking, colli",
    ),
    (
        Field::Least,
        "moq, minimum, min qty, minimum order, minimum quantity, minimum order quantity, \
         min order, min order qty, minimum qty, mindestmenge, mindestbestellmenge, \
         mindestabnahme, min menge, quantité minimum, quantité minimale, qté min, \
         minimum de commande, cantidad mínima, pedido mínimo, mínimo, minimum antall, \
         min antall, minstebestilling, minimumsantall, quantità minima, minimo, minimo ordine, \
         lotto minimo, minimale afname, minimum aantal, min aantal, \
         minimale bestelhoeveelheid",
    ),
    (
        Field::Quantity,
        "qty, quantity, from qty, qty from, from quantity, break, price break, quantity break, \
         from, menge, ab menge, menge ab, staffel, staffelmenge, ab, von, ab stück, quantité, \
         qté, à partir de, palier, cantidad, desde, antall, fra, mengde, fra antall, quantità, \
         qta, da, scaglione, aantal, vanaf, vanaf aantal",
    ),
    (
        Field::Stock,
        "stock, in stock, on stock, available, availability, on hand, bestand, lager, \
         lagerbestand, verfügbar, verfügbarkeit, auf lager, stock disponible, disponible, \
         disponibilité, en stock, existencias, disponibilidad, på lager, lagerbeholdning, \
         beholdning, lagerstatus, giacenza, disponibilità, magazzino, voorraad, op voorraad, \
         beschikbaar",
    ),
    (
        Field::Lead,
        "lead time, leadtime, delivery, delivery time, lead, lieferzeit, lieferfrist, \
         lieferung, lz, wiederbeschaffungszeit, délai, délai de livraison, livraison, plazo, \
         plazo de entrega, entrega, leveringstid, leveranse, levering, leveransetid, \
         tempi di consegna, tempo di consegna, consegna, levertijd, leveringstermijn",
    ),
    (
        Field::Date,
        "date, valid from, price date, datum, gültig ab, preisstand, date de prix, fecha, \
         válido desde, dato, gyldig fra, data, valido dal, geldig vanaf, prijsdatum",
    ),
];

/// What headings of delivery notes and confirmations say besides.
pub static OF_LETTERS: LazyLock<Vec<(Field, String)>> =
    LazyLock::new(|| LETTERS.iter().flat_map(padded).collect());

const LETTERS: &[(Field, &str)] = &[
    (
        Field::Quantity,
        "delivered, qty delivered, quantity delivered, delivered qty, delivered quantity, \
         shipped, qty shipped, quantity shipped, shipped qty, shipped quantity, dispatched, \
         supplied, pcs, pieces, count, confirmed, qty confirmed, quantity confirmed, \
         confirmed qty, confirmed quantity, packs, liefermenge, gelieferte menge, geliefert, \
         menge geliefert, anzahl, stück, stk, bestätigt, bestätigte menge, quantité livrée, \
         qté livrée, livré, livrée, quantité confirmée, qté confirmée, nombre, pièces, \
         cantidad entregada, entregado, cantidad servida, servido, cantidad confirmada, \
         piezas, unidades, levert, levert antall, antall levert, sendt, bekreftet, \
         bekreftet antall, stk levert, quantità consegnata, qta consegnata, consegnato, \
         spedito, quantità confermata, pezzi, geleverd, aantal geleverd, geleverd aantal, \
         verzonden, bevestigd, bevestigd aantal, stuks",
    ),
    (
        Field::Date,
        "delivery date, date of delivery, due, due date, ship date, dispatch date, \
         confirmed date, confirmed delivery, expected, expected on, liefertermin, lieferdatum, \
         termin, bestätigter termin, date de livraison, livraison le, livraison prévue, \
         fecha de entrega, fecha entrega, entrega prevista, leveringsdato, leveringsdag, \
         bekreftet dato, data di consegna, data consegna, consegna prevista, leverdatum, \
         leverdag",
    ),
];

/// Words in the heading of a quantity that was ordered, or is still to come: not what came.
pub const NOT_CAME: &[&str] = &[
    "ordered",
    "order",
    "bestellt",
    "bestellte",
    "bestellmenge",
    "auftragsmenge",
    "commandé",
    "commandée",
    "pedida",
    "pedido",
    "bestilt",
    "ordinata",
    "ordinato",
    "besteld",
    "open",
    "outstanding",
    "remaining",
    "backorder",
    "rückstand",
    "restmenge",
    "rest",
    "offen",
    "reste",
    "reliquat",
    "pendiente",
    "utestående",
    "restordre",
    "inevasa",
    "residuo",
    "openstaand",
];

/// Words before the day of a list, above the headings.
pub const DATES: &str = "valid from, valid as of, effective, as of, price list of, date, dated, gültig ab, \
     preisstand, stand, preisliste vom, datum, vom, valable à partir du, valable dès le, \
     en vigueur au, en date du, du, válido desde, válida desde, vigente desde, fecha, \
     gyldig fra, gjelder fra, prisliste per, dato, valido dal, valida dal, in vigore dal, \
     data, geldig vanaf, geldig per, prijslijst per, per";

/// Words that make a number one of pieces that a price is for.
pub const PER: &[&str] = &["per", "pro", "je", "par", "por", "pr"];
