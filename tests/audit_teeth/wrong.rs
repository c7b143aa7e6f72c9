//! Every kind of wrong plan, each made at a random place.

use crate::case::{Case, Expect, only, with};
use couplet::audit::{Finding, Rule};
use couplet::catalog::{Exit, Fitting, Half, Spec};
use couplet::plan::{OrderLine, OrderedRecord, PartRecord};
use couplet::project::{Cable, Distinct};
use couplet::units::{Money, Protection};
use rust_decimal::Decimal;

/// Makes a plan wrong in one way; none where the plan has no place for it.
pub type Make = fn(&mut Case) -> Option<Expect>;

/// By what is wrong.
pub const ALL: &[(&str, Make)] = &[
    // Each rule of fit.
    ("mate: key", mate_key),
    ("mate: interface", mate_interface),
    ("poles", poles),
    ("current", current),
    ("current: derated", derated),
    ("voltage", voltage),
    ("attach", attach),
    ("exit", exit),
    ("exit: back shell", shell_exit),
    ("ferrule: area", ferrule_area),
    ("ferrule: barrel", ferrule_barrel),
    ("seal: diameter", seal_diameter),
    ("seal: rear", seal_rear),
    ("back shell: diameter", shell_diameter),
    ("back shell: rear", shell_rear),
    ("protection", protection),
    ("protection: seal", seal_protection),
    ("colour", colour),
    ("pin", pin),
    ("keying", keying),
    ("keying: everywhere", keying_everywhere),
    // What stands at an end.
    ("a missing end", missing_end),
    ("a doubled end", doubled_end),
    ("an end of another circuit", unknown_end),
    ("ends out of order", ends_turned),
    ("location", |c| end_fact(c, "location")),
    ("gauge", |c| end_fact(c, "gauge")),
    ("key", |c| end_fact(c, "key")),
    ("interface", |c| end_fact(c, "interface")),
    ("a foreign body", foreign_body),
    ("a foreign fitting", foreign_fitting),
    ("halves in each other's place", turned_halves),
    ("an excluded part", excluded_part),
    ("a missing fitting", missing_fitting),
    ("a fitting too many", unneeded_fitting),
    ("a doubled fitting", doubled_fitting),
    ("pieces of a fitting", fitting_qty),
    // Each count.
    ("fitted", |c| count(c, "fitted", |p| &mut p.fitted)),
    ("spare", |c| count(c, "spare", |p| &mut p.spare)),
    ("on hand", |c| {
        count(c, "on_hand_used", |p| &mut p.on_hand_used)
    }),
    ("ordered", |c| {
        count(c, "ordered_used", |p| &mut p.ordered_used)
    }),
    ("bought", |c| count(c, "bought", |p| &mut p.bought)),
    ("surplus", |c| count(c, "surplus", |p| &mut p.surplus)),
    ("a short spare", short),
    ("stock on hand that is not there", no_stock),
    ("a part that is not listed", missing_part),
    ("a part listed twice", doubled_part),
    ("a part that nothing uses", unfitted_part),
    ("too many variants", too_many_variants),
    // What is bought.
    ("an over-bought stock", over_stock),
    ("a broken pack", broken_pack),
    ("packs", packs),
    ("below the least quantity", below_least),
    ("too slow", too_slow),
    ("a price one break off", one_break_off),
    ("unit price", |c| {
        line_money(c, "unit_price", |l| &mut l.unit_price)
    }),
    ("line total", |c| {
        line_money(c, "line_total", |l| &mut l.line_total)
    }),
    ("a line from one who does not sell it", no_offer),
    ("a doubled line", doubled_line),
    ("a doubled order", doubled_order),
    ("an excluded supplier", excluded_supplier),
    ("an unknown supplier", unknown_supplier),
    ("below the least order", below_min_order),
    ("too many suppliers", too_many_suppliers),
    ("goods of an order", |c| order_money(c, "goods")),
    ("duty of an order", |c| order_money(c, "duty")),
    ("shipping of an order", |c| order_money(c, "shipping")),
    ("total of an order", |c| order_money(c, "total")),
    // What it comes to.
    ("goods", |c| cost(c, "goods")),
    ("duty", |c| cost(c, "duty")),
    ("shipping", |c| cost(c, "shipping")),
    ("dies", |c| cost(c, "dies")),
    ("lines", |c| cost(c, "lines")),
    ("a wrong total", |c| cost(c, "total")),
    ("tax", |c| cost(c, "tax")),
    ("total with tax", |c| cost(c, "total_with_tax")),
    ("spent", spent),
    ("what is ordered", ordered),
    ("what is ordered and not used", ordered_unused),
    ("bound", bound),
    ("other files", files),
    ("another project", project),
];

fn cent(case: &mut Case) -> Decimal {
    Decimal::new(if case.rng.bool() { 1 } else { -1 }, 2)
}

/// Breaks a rule by what the catalog or the circuit says: all that is found is
/// this rule, at the end among others, or what follows from it.
pub fn broken(case: &Case, end: usize, rule: Rule, may: fn(&Finding) -> bool) -> Option<Expect> {
    let name = case.name(end);
    let twin = rule.clone();
    with(
        move |f| matches!(f, Finding::Broken(at, r, _) if *at == name && *r == twin),
        move |f| matches!(f, Finding::Broken(_, r, _) if *r == rule) || may(f),
    )
}

pub fn nothing(_: &Finding) -> bool {
    false
}

fn mate_key(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    if case.plan.ends[end].receptacle.is_some() {
        case.terminal(end).key = None;
    }
    let code = case.code(end, half);
    case.body(&code).key.push('x');
    broken(case, end, Rule::Mate, |f| {
        matches!(f, Finding::End(_, fact) if fact.field == "key")
            || matches!(f, Finding::Broken(_, Rule::Pin | Rule::NetKeys, _))
    })
}

fn mate_interface(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    case.body(&code).interface.push('x');
    broken(case, end, Rule::Mate, |f| {
        matches!(f, Finding::End(_, fact) if fact.field == "interface")
            || matches!(f, Finding::Broken(_, Rule::Interface, _))
    })
}

fn poles(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    case.body(&code).poles += 1;
    broken(case, end, Rule::Poles, |f| {
        matches!(f, Finding::FittingQty(_, _, Fitting::Ferrule, _))
    })
}

fn current(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    let needed = case.circuit(end).current;
    let body = case.body(&code);
    body.ratings.clear();
    body.rated_a.0 = needed.0 - Decimal::new(1, 3);
    broken(case, end, Rule::Current, nothing)
}

fn derated(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    let needed = case.circuit(end).current;
    let ambient = case.input.settings.ambient?;
    let body = case.body(&code);
    // At the ambient a body has a tenth less than at 1 °C below it, or none at all.
    body.ratings.clear();
    body.rated_a = needed;
    body.rated_c = Some((ambient.0 - Decimal::ONE).into());
    let above = case.rng.u32(..3);
    case.body(&code).max_c = Some((ambient.0 + Decimal::from(above)).into());
    broken(case, end, Rule::Current, nothing)
}

fn voltage(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    let needed = case.circuit(end).voltage;
    case.body(&code).rated_v.0 = needed.0 - Decimal::new(1, 3);
    broken(case, end, Rule::Voltage, nothing)
}

fn attach(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    case.body(&code).attach = "nowhere".to_owned();
    broken(case, end, Rule::Attach, nothing)
}

fn other(exit: Exit) -> Exit {
    match exit {
        Exit::Straight => Exit::RightAngle,
        Exit::RightAngle => Exit::Straight,
    }
}

fn exit(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let code = case.code(end, Half::Plug);
    let has = case.body(&code).exit?;
    case.terminal(end).exit = Some(other(has));
    broken(case, end, Rule::Exit, nothing)
}

/// The part code of some fitting of a kind, and its end.
fn fitted(case: &mut Case, kind: Fitting) -> Option<(usize, String)> {
    let (end, place) = case.fitting(kind)?;
    Some((end, case.plan.ends[end].fittings[place].part.clone()))
}

fn shell_exit(case: &mut Case) -> Option<Expect> {
    let (end, place) = case.fitting(Fitting::BackShell)?;
    let fitting = case.plan.ends[end].fittings[place].clone();
    let half = if fitting.half == "plug" {
        Half::Plug
    } else {
        Half::Receptacle
    };
    let code = case.code(end, half);
    let has = case.body(&code).exit?;
    let Spec::BackShell(shell) = case.spec(&fitting.part) else {
        return None;
    };
    shell.exit = Some(other(has));
    broken(case, end, Rule::Exit, nothing)
}

fn ferrule_area(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::Ferrule)?;
    let (area, low) = (case.circuit(end).gauge.area(), case.rng.bool());
    let Spec::Ferrule(ferrule) = case.spec(&part) else {
        return None;
    };
    if low {
        ferrule.max_mm2.0 = area.0 - Decimal::new(1, 3);
        ferrule.min_mm2.0 = ferrule.max_mm2.0;
    } else {
        ferrule.min_mm2.0 = area.0 + Decimal::new(1, 3);
        ferrule.max_mm2.0 = ferrule.min_mm2.0;
    }
    broken(case, end, Rule::Ferrule, nothing)
}

fn ferrule_barrel(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::Ferrule)?;
    match case.spec(&part) {
        Spec::Ferrule(ferrule) => ferrule.barrel.push('x'),
        _ => return None,
    }
    broken(case, end, Rule::Ferrule, nothing)
}

fn seal_diameter(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::Seal)?;
    let (od, low) = (case.circuit(end).cable_od, case.rng.bool());
    let Spec::Seal(seal) = case.spec(&part) else {
        return None;
    };
    if low {
        seal.max_od.0 = od.0 - Decimal::new(1, 3);
        seal.min_od.0 = seal.max_od.0;
    } else {
        seal.min_od.0 = od.0 + Decimal::new(1, 3);
        seal.max_od.0 = seal.min_od.0;
    }
    broken(case, end, Rule::Seal, nothing)
}

fn seal_rear(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::Seal)?;
    match case.spec(&part) {
        Spec::Seal(seal) => seal.rear.push('x'),
        _ => return None,
    }
    broken(case, end, Rule::Seal, nothing)
}

fn shell_diameter(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::BackShell)?;
    let od = case.circuit(end).cable_od;
    match case.spec(&part) {
        Spec::BackShell(shell) => shell.max_od.0 = od.0 - Decimal::new(1, 3),
        _ => return None,
    }
    broken(case, end, Rule::BackShell, nothing)
}

fn shell_rear(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::BackShell)?;
    match case.spec(&part) {
        Spec::BackShell(shell) => shell.rear.push('x'),
        _ => return None,
    }
    broken(case, end, Rule::BackShell, nothing)
}

fn wanted() -> Option<Protection> {
    "IP6K9K".parse().ok()
}

fn protection(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    case.circuit(end).ip = wanted();
    case.body(&code).ip = if case.rng.bool() {
        None
    } else {
        "IP67".parse().ok()
    };
    broken(case, end, Rule::Protection, nothing)
}

fn seal_protection(case: &mut Case) -> Option<Expect> {
    let (end, part) = fitted(case, Fitting::Seal)?;
    case.circuit(end).ip.as_ref()?;
    match case.spec(&part) {
        Spec::Seal(seal) => seal.ip = "IP20".parse().ok(),
        _ => return None,
    }
    broken(case, end, Rule::Protection, nothing)
}

fn colour(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    case.circuit(end).colour = Some("mauve".to_owned());
    broken(case, end, Rule::Colour, nothing)
}

fn pin(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(false)?;
    case.terminal(end).key = Some("nowhere".to_owned());
    broken(case, end, Rule::Pin, nothing)
}

/// Counts, lines and costs follow from what stands at the ends.
pub fn follows(f: &Finding) -> bool {
    matches!(
        f,
        Finding::Part(_)
            | Finding::Short { .. }
            | Finding::MissingPart(_)
            | Finding::UnfittedPart(_)
            | Finding::UnfittedLine(_)
            | Finding::Cost(_)
            | Finding::Proof(_)
            | Finding::TooManyVariants { .. }
    )
}

/// Gives one net the set of another where both may have it but for the keying rule.
fn keying(case: &mut Case) -> Option<Expect> {
    case.input.settings.keying.distinct = Distinct::ByLocation;
    case.input.settings.keying.ignore_at.clear();
    if !case.audit().is_empty() {
        return None;
    }
    clash(case, |a, b| a == b)
}

fn keying_everywhere(case: &mut Case) -> Option<Expect> {
    case.input.settings.keying.distinct = Distinct::Everywhere;
    case.input.settings.keying.ignore_at.clear();
    if !case.audit().is_empty() {
        return None;
    }
    clash(case, |_, _| true)
}

fn clash(case: &mut Case, at: fn(&str, &str) -> bool) -> Option<Expect> {
    let mut pairs = Vec::new();
    for (n, a) in case.plan.ends.iter().enumerate() {
        for (m, b) in case.plan.ends.iter().enumerate() {
            let is_single = case
                .input
                .circuits
                .iter()
                .any(|c| c.name == a.circuit && c.cable == Cable::Single);
            let alike = a.circuit == b.circuit && a.end == b.end && is_single;
            if alike && a.net != b.net && at(&a.location, &b.location) {
                pairs.push((n, m));
            }
        }
    }
    let (from, to) = case.one_of(pairs)?;
    let given = case.plan.ends[from].clone();
    let end = &mut case.plan.ends[to];
    let mut nets = [given.net, end.net.clone()];
    nets.sort();
    (end.plug, end.receptacle) = (given.plug, given.receptacle);
    (end.key, end.interface) = (given.key.clone(), given.interface.clone());
    end.fittings = given.fittings;
    with(
        move |f| {
            let Finding::KeyingClash {
                interface,
                key,
                nets: all,
                ..
            } = f
            else {
                return false;
            };
            (interface, key) == (&given.interface, &given.key)
                && nets.iter().all(|net| all.iter().any(|a| a.net == *net))
        },
        |f| follows(f) || matches!(f, Finding::Broken(_, Rule::NetKeys, _)),
    )
}

fn missing_end(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let name = case.name(end);
    case.plan.ends.remove(end);
    with(move |f| *f == Finding::MissingEnd(name.clone()), follows)
}

fn doubled_end(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let name = case.name(end);
    let copy = case.plan.ends[end].clone();
    case.plan.ends.insert(end, copy);
    with(move |f| *f == Finding::DoubledEnd(name.clone()), follows)
}

fn unknown_end(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let was = case.name(end);
    case.plan.ends[end].circuit.push('x');
    let now = case.name(end);
    let mut expect = with(move |f| *f == Finding::UnknownEnd(now.clone()), follows)?;
    let missing = move |f: &Finding| *f == Finding::MissingEnd(was.clone());
    expect.must.push(Box::new(missing));
    Some(expect)
}

fn ends_turned(case: &mut Case) -> Option<Expect> {
    let count = case.plan.ends.len();
    if count < 2 {
        return None;
    }
    let end = case.rng.usize(1..count);
    case.plan.ends.swap(end - 1, end);
    let name = case.name(end);
    only(move |f| *f == Finding::EndsOutOfOrder(name.clone()))
}

fn end_fact(case: &mut Case, field: &'static str) -> Option<Expect> {
    let end = case.end();
    let name = case.name(end);
    let record = &mut case.plan.ends[end];
    match field {
        "location" => record.location.push('x'),
        "gauge" => record.gauge.push('x'),
        "key" => record.key.push('x'),
        _ => record.interface.push('x'),
    }
    only(move |f| matches!(f, Finding::End(at, fact) if *at == name && fact.field == field))
}

fn foreign_body(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let record = &mut case.plan.ends[end];
    match half {
        Half::Plug => record.plug = "FOREIGN".to_owned(),
        Half::Receptacle => record.receptacle = Some("FOREIGN".to_owned()),
    }
    with(
        |f| *f == Finding::UnknownPart("FOREIGN".to_owned()),
        follows,
    )
}

fn some_fitting(case: &mut Case) -> Option<(usize, usize)> {
    let kinds = [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell];
    let mut found: Vec<(usize, usize)> = Vec::new();
    for kind in kinds {
        found.extend(case.fitting(kind));
    }
    case.one_of(found)
}

fn foreign_fitting(case: &mut Case) -> Option<Expect> {
    let (end, place) = some_fitting(case)?;
    case.plan.ends[end].fittings[place].part = "FOREIGN".to_owned();
    with(
        |f| *f == Finding::UnknownPart("FOREIGN".to_owned()),
        follows,
    )
}

fn turned_halves(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let record = &mut case.plan.ends[end];
    std::mem::swap(&mut record.plug, record.receptacle.as_mut()?);
    let plug = record.plug.clone();
    with(
        move |f| matches!(f, Finding::WrongKind { part, .. } if *part == plug),
        |f| matches!(f, Finding::WrongKind { .. }),
    )
}

fn excluded_part(case: &mut Case) -> Option<Expect> {
    let end = case.end();
    let half = case.half(end);
    let code = match some_fitting(case).filter(|_| case.rng.bool()) {
        Some((end, place)) => case.plan.ends[end].fittings[place].part.clone(),
        None => case.code(end, half),
    };
    case.input.settings.exclude_parts.insert(code.clone());
    only(move |f| *f == Finding::ExcludedPart(code.clone()))
}

fn missing_fitting(case: &mut Case) -> Option<Expect> {
    let (end, place) = some_fitting(case)?;
    let name = case.name(end);
    let gone = case.plan.ends[end].fittings.remove(place);
    with(
        move |f| {
            matches!(f, Finding::MissingFitting(at, half, kind)
                if *at == name && half.word() == gone.half && kind.word() == gone.kind)
        },
        follows,
    )
}

fn unneeded_fitting(case: &mut Case) -> Option<Expect> {
    let (end, place) = some_fitting(case)?;
    let name = case.name(end);
    let fitting = case.plan.ends[end].fittings[place].clone();
    let half = if fitting.half == "plug" {
        Half::Plug
    } else {
        Half::Receptacle
    };
    let kinds = [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell];
    let kind = kinds.into_iter().find(|k| k.word() == fitting.kind)?;
    let code = case.code(end, half);
    case.body(&code).includes.push(kind);
    with(
        move |f| *f == Finding::UnneededFitting(name.clone(), half, kind),
        move |f| matches!(f, Finding::UnneededFitting(_, h, k) if (*h, *k) == (half, kind)),
    )
}

fn doubled_fitting(case: &mut Case) -> Option<Expect> {
    let (end, place) = some_fitting(case)?;
    let name = case.name(end);
    let copy = case.plan.ends[end].fittings[place].clone();
    case.plan.ends[end].fittings.insert(place, copy.clone());
    with(
        move |f| {
            matches!(f, Finding::DoubledFitting(at, half, kind)
                if *at == name && half.word() == copy.half && kind.word() == copy.kind)
        },
        follows,
    )
}

fn fitting_qty(case: &mut Case) -> Option<Expect> {
    let (end, place) = some_fitting(case)?;
    let name = case.name(end);
    let up = case.rng.bool();
    let qty = &mut case.plan.ends[end].fittings[place].qty;
    *qty = if up { *qty + 1 } else { *qty - 1 };
    with(
        move |f| matches!(f, Finding::FittingQty(at, ..) if *at == name),
        follows,
    )
}

fn count(
    case: &mut Case,
    field: &'static str,
    of: fn(&mut PartRecord) -> &mut u64,
) -> Option<Expect> {
    let place = case.rng.usize(..case.plan.parts.len());
    let up = case.rng.bool();
    let record = &mut case.plan.parts[place];
    let told = format!("part {}", record.part);
    let count = of(record);
    *count = if up || *count == 0 {
        *count + 1
    } else {
        *count - 1
    };
    only(move |f| matches!(f, Finding::Part(fact) if fact.of == told && fact.field == field))
}

/// Buys so few packs less that the spares are not all there, and does all the
/// sums right.
fn short(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let pack = case.offer(at).pack;
    let line = &mut case.plan.orders[at.0].lines[at.1];
    let part = line.part.clone();
    let record = case.plan.parts.iter_mut().find(|p| p.part == part)?;
    if record.surplus >= pack || line.qty <= pack {
        return None;
    }
    line.qty -= pack;
    line.packs -= 1;
    line.line_total = Money(line.unit_price.0 * Decimal::from(line.qty));
    record.bought -= pack;
    record.surplus = 0;
    let told = part.clone();
    with(
        move |f| matches!(f, Finding::Short { part, .. } if *part == told),
        move |f| match f {
            // Another break may be reached; sums follow.
            Finding::Line(at, _) | Finding::BelowLeast(at) => at.part == part,
            Finding::Order(_) | Finding::BelowMinOrder(_) => true,
            Finding::Cost(_) | Finding::Proof(_) => true,
            _ => false,
        },
    )
}

fn no_stock(case: &mut Case) -> Option<Expect> {
    let used = case.plan.parts.iter().filter(|p| p.on_hand_used > 0);
    let codes = used.map(|p| p.part.clone()).collect();
    let code = case.one_of(codes)?;
    let id = case.id(&code);
    let used = case
        .plan
        .parts
        .iter()
        .find(|p| p.part == code)?
        .on_hand_used;
    case.input.on_hand.insert(id, used - 1);
    let told = format!("part {code}");
    with(
        move |f| matches!(f, Finding::Part(fact) if fact.of == told && fact.field == "on_hand_used"),
        move |f| match f {
            Finding::Part(fact) => fact.of.contains(&code),
            Finding::Short { part, .. } => *part == code,
            _ => false,
        },
    )
}

fn missing_part(case: &mut Case) -> Option<Expect> {
    let place = case.rng.usize(..case.plan.parts.len());
    let part = case.plan.parts.remove(place).part;
    only(move |f| *f == Finding::MissingPart(part.clone()))
}

fn doubled_part(case: &mut Case) -> Option<Expect> {
    let place = case.rng.usize(..case.plan.parts.len());
    let copy = case.plan.parts[place].clone();
    case.plan.parts.insert(place, copy.clone());
    only(move |f| *f == Finding::DoubledPart(copy.part.clone()))
}

fn unfitted_part(case: &mut Case) -> Option<Expect> {
    let is_fitted = |code: &str| case.plan.parts.iter().any(|p| p.part == code);
    let all = case.input.catalog.parts.iter().map(|p| p.code.clone());
    let others = all.filter(|code| !is_fitted(code)).collect();
    let code: String = case.one_of(others)?;
    let record = PartRecord {
        part: code.clone(),
        kind: case.input.catalog.part(case.id(&code)).kind().to_string(),
        fitted: 0,
        spare: 0,
        on_hand_used: 0,
        ordered_used: 0,
        bought: 0,
        surplus: 0,
    };
    case.plan.parts.push(record);
    case.plan.parts.sort_by(|a, b| a.part.cmp(&b.part));
    only(move |f| *f == Finding::UnfittedPart(code.clone()))
}

fn too_many_variants(case: &mut Case) -> Option<Expect> {
    let found = case.plan.parts.len();
    let limit = found as u32 - 1;
    case.input.settings.max_variants = Some(limit);
    only(move |f| *f == Finding::TooManyVariants { found, limit })
}

fn over_stock(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let (name, qty) = (case.line_name(at), case.plan.orders[at.0].lines[at.1].qty);
    case.offer(at).stock = Some(qty - 1);
    only(move |f| *f == Finding::AboveStock(name.clone()))
}

fn broken_pack(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let (name, qty) = (case.line_name(at), case.plan.orders[at.0].lines[at.1].qty);
    let more = case.rng.u64(1..4);
    case.offer(at).pack = qty + more;
    only(move |f| *f == Finding::BrokenPack(name.clone()))
}

fn packs(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let name = case.line_name(at);
    case.plan.orders[at.0].lines[at.1].packs += 1;
    only(move |f| matches!(f, Finding::Line(l, fact) if *l == name && fact.field == "packs"))
}

fn below_least(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let (name, qty) = (case.line_name(at), case.plan.orders[at.0].lines[at.1].qty);
    let mut least = qty;
    for step in &mut case.offer(at).breaks {
        least += 1;
        step.min_qty = least;
    }
    only(move |f| *f == Finding::BelowLeast(name.clone()))
}

fn too_slow(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let name = case.line_name(at);
    let days = 1 + case.rng.u32(..60);
    case.input.settings.max_lead_days = Some(days - 1);
    case.offer(at).lead_days = Some(days);
    with(
        move |f| *f == Finding::TooSlow(name.clone()),
        |f| matches!(f, Finding::TooSlow(_)),
    )
}

/// The price of the next break up or down, with the sums that follow from it.
fn one_break_off(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let name = case.line_name(at);
    let breaks = case.offer(at).breaks.clone();
    let line = &mut case.plan.orders[at.0].lines[at.1];
    let other = breaks.iter().find(|b| b.unit_price != line.unit_price)?;
    line.unit_price = other.unit_price;
    line.line_total = Money(other.unit_price.0 * Decimal::from(line.qty));
    let is_line = move |f: &Finding, field: &str| matches!(f, Finding::Line(l, fact) if *l == name && fact.field == field);
    let twin = is_line.clone();
    with(
        move |f| is_line(f, "unit_price"),
        move |f| twin(f, "line_total"),
    )
}

fn line_money(
    case: &mut Case,
    field: &'static str,
    of: fn(&mut OrderLine) -> &mut Money,
) -> Option<Expect> {
    let at = case.line()?;
    let (name, cent) = (case.line_name(at), cent(case));
    of(&mut case.plan.orders[at.0].lines[at.1]).0 += cent;
    only(move |f| matches!(f, Finding::Line(l, fact) if *l == name && fact.field == field))
}

fn no_offer(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let name = case.line_name(at);
    let gone = case.offer(at).clone();
    let offers = &mut case.input.catalog.offers;
    offers.retain(|o| (o.part, o.supplier) != (gone.part, gone.supplier));
    let twin = name.clone();
    with(
        move |f| *f == Finding::NoOffer(name.clone()),
        // The supplier's other skus of the part are gone as well.
        move |f| matches!(f, Finding::NoOffer(at) if at.part == twin.part && at.supplier == twin.supplier),
    )
}

fn doubled_line(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let name = case.line_name(at);
    let copy = case.plan.orders[at.0].lines[at.1].clone();
    case.plan.orders[at.0].lines.insert(at.1, copy);
    with(
        move |f| *f == Finding::DoubledLine(name.clone()),
        |f| matches!(f, Finding::Part(_) | Finding::Order(_) | Finding::Cost(_)),
    )
}

fn doubled_order(case: &mut Case) -> Option<Expect> {
    let (at, _) = case.line()?;
    let copy = case.plan.orders[at].clone();
    let name = copy.supplier.clone();
    case.plan.orders.insert(at, copy);
    with(
        move |f| *f == Finding::DoubledOrder(name.clone()),
        |f| matches!(f, Finding::Part(_) | Finding::Cost(_)),
    )
}

fn excluded_supplier(case: &mut Case) -> Option<Expect> {
    let (at, _) = case.line()?;
    let name = case.plan.orders[at].supplier.clone();
    case.input.settings.exclude_suppliers.insert(name.clone());
    only(move |f| *f == Finding::ExcludedSupplier(name.clone()))
}

fn unknown_supplier(case: &mut Case) -> Option<Expect> {
    let (at, _) = case.line()?;
    case.plan.orders[at].supplier = "Zzz".to_owned();
    with(
        |f| *f == Finding::UnknownSupplier("Zzz".to_owned()),
        |f| matches!(f, Finding::OrdersOutOfOrder(_)),
    )
}

fn below_min_order(case: &mut Case) -> Option<Expect> {
    let (at, _) = case.line()?;
    let order = &case.plan.orders[at];
    let (name, goods) = (order.supplier.clone(), order.goods);
    let mut all = case.input.catalog.suppliers.iter_mut();
    let supplier = all.find(|s| s.name == name)?;
    supplier.min_order = Some(Money(goods.0 + Decimal::new(1, 4)));
    only(move |f| *f == Finding::BelowMinOrder(name.clone()))
}

fn too_many_suppliers(case: &mut Case) -> Option<Expect> {
    let found = case.plan.orders.len();
    let limit = (found as u32).checked_sub(1)?;
    case.input.settings.max_suppliers = Some(limit);
    only(move |f| *f == Finding::TooManySuppliers { found, limit })
}

fn order_money(case: &mut Case, field: &'static str) -> Option<Expect> {
    let (at, _) = case.line()?;
    let cent = cent(case);
    let order = &mut case.plan.orders[at];
    let told = format!("order to {}", order.supplier);
    match field {
        "goods" => order.goods.0 += cent,
        "duty" => order.duty.0 += cent,
        "shipping" => order.shipping.0 += cent,
        _ => order.total.0 += cent,
    }
    only(move |f| matches!(f, Finding::Order(fact) if fact.of == told && fact.field == field))
}

fn cost(case: &mut Case, field: &'static str) -> Option<Expect> {
    let cent = cent(case);
    let cost = &mut case.plan.cost;
    match field {
        "goods" => cost.goods.0 += cent,
        "duty" => cost.duty.0 += cent,
        "shipping" => cost.shipping.0 += cent,
        "dies" => cost.dies.0 += cent,
        "lines" => cost.lines.0 += cent,
        "total" => cost.total.0 += cent,
        "tax" => cost.tax.0 += cent,
        _ => cost.total_with_tax.0 += cent,
    }
    // A proven total is its own bound.
    with(
        move |f| matches!(f, Finding::Cost(fact) if fact.field == field),
        move |f| field == "total" && matches!(f, Finding::Proof(_)),
    )
}

fn spent(case: &mut Case) -> Option<Expect> {
    let cent = cent(case);
    case.plan.spent.0 += cent;
    only(|f| matches!(f, Finding::Head(fact) if fact.field == "spent"))
}

fn in_words(record: &OrderedRecord) -> String {
    let sku = match record.sku.as_str() {
        "" => String::new(),
        sku => format!(", sku {sku}"),
    };
    format!("ordered part {} from {}{sku}", record.part, record.supplier)
}

fn ordered(case: &mut Case) -> Option<Expect> {
    let count = case.plan.ordered.len();
    let place = case.one_of((0..count).collect())?;
    let record = &mut case.plan.ordered[place];
    let told = in_words(record);
    record.qty += 1;
    only(move |f| matches!(f, Finding::Part(fact) if fact.of == told && fact.field == "qty"))
}

fn ordered_unused(case: &mut Case) -> Option<Expect> {
    let count = case.plan.ordered.len();
    let place = case.one_of((0..count).collect())?;
    let record = &mut case.plan.ordered[place];
    let told = in_words(record);
    record.unused += 1;
    record.worth.0 += Decimal::ONE;
    let twin = told.clone();
    let is = |f: &Finding, told: &str, field: &str| matches!(f, Finding::Part(fact) if fact.of == told && fact.field == field);
    let mut expect = only(move |f| is(f, &told, "unused"))?;
    expect.must.push(Box::new(move |f| is(f, &twin, "worth")));
    Some(expect)
}

fn bound(case: &mut Case) -> Option<Expect> {
    let cent = cent(case);
    case.plan.total_bound.0 += cent;
    only(|f| matches!(f, Finding::Proof(fact) if fact.field == "total_bound"))
}

fn files(case: &mut Case) -> Option<Expect> {
    case.plan.inputs[0].sha256 = "11".repeat(32);
    only(|f| *f == Finding::Inputs)
}

fn project(case: &mut Case) -> Option<Expect> {
    case.plan.project.push('x');
    only(|f| matches!(f, Finding::Head(fact) if fact.field == "project"))
}
