//! A plan for a reader: verdict, total and its terms, orders, parts, surplus, ends.

use super::ends;
use super::order;
use super::ordered;
use super::surplus;
use super::table::{Column, Table};
use super::wording::{counted, gap, list, plain, wrapped};
use crate::catalog::Catalog;
use crate::input::Input;
use crate::plan::{MachineRecord, Plan, Status};
use crate::project::Settings;
use crate::units::{Money, apportion};
use rust_decimal::RoundingStrategy;

/// Said once, below every plan.
pub(super) const CAUTION: &str = "High voltage kills. Before work on any end: isolate the pack, lock it off, \
and verify the absence of voltage with a tester rated for it. Ratings, crimps and torques are as \
the makers' data sheets say, not as this plan says. Follow local codes; where they ask for a \
licensed person, have one do the work.";

/// Everything that is to be known of a plan.
pub fn text(plan: &Plan, input: &Input, width: usize) -> String {
    if plan.ends.is_empty() {
        return format!("{}\n", nothing(input));
    }
    let catalog = &input.catalog;
    let mut first = wrapped(&verdict(plan), width, "", "  ") + "\n";
    if !plan.machines.is_empty() {
        let machines = plain(&format!("for {}", machines(plan)));
        first.push_str(&(wrapped(&machines, width, "", "  ") + "\n"));
    }
    let mut sections = vec![first, cost(plan, width)];
    sections.extend(budget(plan, &input.settings, width));
    if plan.orders.is_empty() {
        sections.push(nothing_to_order(plan).to_owned());
    } else {
        sections.push(order::all_text_at_home(plan, input, width));
    }
    sections.extend(order::dies_text(plan, input, width));
    sections.push(format!("Parts\n{}", parts(plan).text(width)));
    sections.extend(surplus_text(plan, catalog, width));
    sections.extend(ordered::unused_text(plan, catalog, width));
    sections.push(format!("Ends\n{}", ends::pairs(plan).text(width)));
    let fittings = ends::fittings(plan);
    if !fittings.is_empty() {
        sections.push(format!("Fittings on each body\n{}", fittings.text(width)));
    }
    sections.push(wrapped(CAUTION, width, "Caution: ", "  ") + "\n");
    sections.join("\n")
}

/// `5 × ferry and 2 × tender, all copies of a machine alike`.
pub(super) fn machines(plan: &Plan) -> String {
    let all: Vec<String> = plan.machines.iter().map(built).collect();
    let alike = match plan.machines.iter().any(|of| of.count > 1) {
        true => ", all copies of a machine alike",
        false => "",
    };
    format!("{}{alike}", list(&all))
}

/// `5 × ferry`.
pub(super) fn built(of: &MachineRecord) -> String {
    // No line begins with the sign, since the spaces do not break.
    format!("{}\u{a0}×\u{a0}{}", of.count, of.machine)
}

/// How far the plan is proven: the first line of all that is shown of a plan.
pub fn verdict(plan: &Plan) -> String {
    let ended = match plan.status {
        Status::Optimal => {
            let ends = match plan.ends.len() {
                1 => "end".to_owned(),
                n => counted(n as u64, "end"),
            };
            let proven = match plan.witnesses() {
                1 => "proven cheapest once; the second proof was not finished",
                _ => "proven cheapest",
            };
            return format!("{proven}: no compatible set for the {ends} costs less");
        }
        Status::WithinGap => "",
        Status::TimeLimit => ", stopped early",
    };
    if !plan.total_bound.is_positive() {
        return format!("not proven cheapest{ended}; nothing is known of what is cheaper");
    }
    format!(
        "within {}: not proven cheapest{ended}; no plan costs less than {} {}",
        gap(plan.gap_percent),
        bound(plan),
        plan.currency
    )
}

/// The bound to the cent, rounded down: it never looks better than it is.
fn bound(plan: &Plan) -> Money {
    let down = RoundingStrategy::ToNegativeInfinity;
    Money(plan.total_bound.0.round_dp_with_strategy(2, down)).cents()
}

/// Why there is nothing in an empty plan.
pub fn nothing(input: &Input) -> &'static str {
    if input.circuits.is_empty() {
        "nothing to plan: there are no circuits"
    } else {
        "nothing to plan: no end of a circuit takes a connector"
    }
}

/// Why nothing is to be bought.
fn nothing_to_order(plan: &Plan) -> &'static str {
    if plan.ordered.is_empty() {
        "Nothing to order: everything is on hand.\n"
    } else {
        "Nothing to order: everything is on hand or ordered.\n"
    }
}

/// The total and its terms as a table.
fn cost(plan: &Plan, width: usize) -> String {
    let mut table = Table::new(&[Column::text("term"), Column::number("amount")]);
    let (terms, sums) = amounts(plan);
    for (name, amount) in terms.into_iter().chain(sums) {
        table.row(vec![name.to_owned(), amount.to_string()]);
    }
    let all = plan.altogether().cents();
    format!("Total {all} {}\n{}", plan.currency, table.text(width))
}

/// Amounts with their names.
pub(super) type Amounts = Vec<(&'static str, Money)>;

/// The terms of the total, without terms that are zero, and the sums. All are to
/// the cent and add up as shown.
pub(super) fn amounts(plan: &Plan) -> (Amounts, Amounts) {
    let cost = &plan.cost;
    let shown = apportion(&cost.terms().map(|(_, exact)| exact));
    let terms = (cost.terms().into_iter().zip(shown))
        .filter(|((name, exact), _)| *exact != Money::ZERO || *name == "goods")
        .map(|((name, _), shown)| (name, shown))
        .collect();
    let total = cost.total.cents();
    let (of_total, of_tax) = match plan.spent == Money::ZERO {
        true => ("total", "total with tax"),
        false => ("still to spend", "still to spend with tax"),
    };
    let mut sums = vec![(of_total, total)];
    if cost.tax != Money::ZERO {
        // The three shown figures add up, each within a cent of the exact figure.
        let with_tax = cost.total_with_tax.cents();
        sums.extend([("tax", (with_tax - total).cents()), (of_tax, with_tax)]);
    }
    if plan.spent != Money::ZERO {
        // Spent is what is left of the shown total, so that the three add up.
        let all = plan.altogether().cents();
        sums.push(("spent", (all - total).cents()));
        sums.push(("spent and still to spend", all));
    }
    (terms, sums)
}

/// The total against what may be spent, both before tax; nothing without a budget.
fn budget(plan: &Plan, settings: &Settings, width: usize) -> Option<String> {
    let budget = settings.budget?;
    let limit = budget.limit.cents();
    let kept_back = limit.percent(budget.contingency_percent.0).cents();
    let left = limit - kept_back - plan.altogether().cents();
    let room = if kept_back.is_positive() {
        let percent = budget.contingency_percent.0.normalize();
        format!("{limit} {} less {percent} % kept back", plan.currency)
    } else {
        format!("{limit} {}", plan.currency)
    };
    let text = if left < Money::ZERO {
        let over = (Money::ZERO - left).cents();
        format!("Budget {room}: the total is {over} over it")
    } else {
        format!("Budget {room}: {} left", left.cents())
    };
    let tax = if plan.cost.tax == Money::ZERO {
        ""
    } else {
        ", before tax"
    };
    Some(wrapped(&(text + tax), width, "", "  ") + "\n")
}

/// What is fitted, spare and bought of each part.
fn parts(plan: &Plan) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("kind").detail(1),
        Column::number("fitted"),
        Column::number("spare"),
        Column::number("on_hand_used"),
        Column::number("ordered_used"),
        Column::number("bought"),
        Column::number("surplus"),
    ]);
    let some = |qty: u64| {
        if qty == 0 {
            String::new()
        } else {
            qty.to_string()
        }
    };
    for part in &plan.parts {
        table.row(vec![
            part.part.clone(),
            part.kind.clone(),
            part.fitted.to_string(),
            some(part.spare),
            some(part.on_hand_used),
            some(part.ordered_used),
            some(part.bought),
            some(part.surplus),
        ]);
    }
    table
}

/// Each surplus and why it pays; nothing without any.
fn surplus_text(plan: &Plan, catalog: &Catalog, width: usize) -> Option<String> {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::number("surplus"),
        Column::text("why_it_pays"),
    ]);
    for part in plan.parts.iter().filter(|p| p.surplus > 0) {
        let reasons: Vec<String> = surplus::why(catalog, plan, part)
            .iter()
            .map(ToString::to_string)
            .collect();
        table.row(vec![
            part.part.clone(),
            part.surplus.to_string(),
            reasons.join("; "),
        ]);
    }
    (!table.is_empty()).then(|| format!("Surplus\n{}", table.text(width)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::Budget;
    use crate::report::sample::{self, money};
    use crate::units::Percent;
    use rust_decimal::Decimal;
    use textwrap::core::display_width;

    #[test]
    fn a_plan_at_full_width() {
        let text = text(&sample::plan(), &sample::input(), 100);
        assert_eq!(text, include_str!("sample/plan-100.txt"));
    }

    #[test]
    fn a_plan_in_a_narrow_terminal() {
        let text = text(&sample::plan(), &sample::input(), 60);
        assert_eq!(text, include_str!("sample/plan-60.txt"));
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        for width in [40, 45, 60, 72, 80, 99, 100] {
            let text = text(&sample::plan(), &sample::input(), width);
            for line in text.lines() {
                assert!(display_width(line) <= width, "{width}: {line}");
                assert_eq!(line, line.trim_end());
            }
        }
    }

    #[test]
    fn the_verdict_comes_first_and_says_what_is_proven() {
        let mut plan = sample::plan();
        let first = |plan: &Plan| {
            text(plan, &sample::input(), 100)
                .lines()
                .next()
                .unwrap()
                .to_owned()
        };
        assert_eq!(
            first(&plan),
            "proven cheapest: no compatible set for the 4 ends costs less"
        );
        plan.status = Status::WithinGap;
        plan.gap_percent = Decimal::new(7801, 4);
        plan.total_bound = money("190.009");
        assert_eq!(
            first(&plan),
            "within 0.79 %: not proven cheapest; no plan costs less than 190.00 EUR"
        );
        plan.status = Status::TimeLimit;
        assert!(first(&plan).starts_with("within 0.79 %: not proven cheapest, stopped early;"));
        plan.total_bound = Money::ZERO;
        assert_eq!(
            first(&plan),
            "not proven cheapest, stopped early; nothing is known of what is cheaper"
        );
    }

    #[test]
    fn an_empty_plan_says_so() {
        let mut input = sample::input();
        let empty = sample::empty_plan();
        assert_eq!(
            text(&empty, &input, 100),
            "nothing to plan: no end of a circuit takes a connector\n"
        );
        input.circuits.clear();
        assert_eq!(
            text(&empty, &input, 100),
            "nothing to plan: there are no circuits\n"
        );
    }

    #[test]
    fn all_on_hand_needs_no_order() {
        let mut plan = sample::plan();
        plan.orders.clear();
        assert!(text(&plan, &sample::input(), 100).contains("Nothing to order"));
        assert!(!text(&sample::plan(), &sample::input(), 100).contains("Nothing to order"));
    }

    #[test]
    fn the_total_is_held_against_the_budget() {
        let (mut plan, mut input) = (sample::plan(), sample::input());
        let mut said = |total: &str, limit: &str, contingency_percent: u32| {
            plan.cost.total = money(total);
            input.settings.budget = Some(Budget {
                limit: money(limit),
                contingency_percent: Percent(contingency_percent.into()),
            });
            plan.cost.tax = Money::ZERO;
            budget(&plan, &input.settings, 100).unwrap()
        };
        let room = "Budget 200.00 EUR less 10 % kept back";
        assert_eq!(said("180", "200", 10), format!("{room}: 0.00 left\n"));
        assert_eq!(
            said("180.01", "200", 10),
            format!("{room}: the total is 0.01 over it\n")
        );
        assert_eq!(said("150", "200", 0), "Budget 200.00 EUR: 50.00 left\n");
        assert_eq!(budget(&plan, &sample::input().settings, 100), None);
        let taxed = sample::plan();
        assert_ne!(taxed.cost.tax, Money::ZERO);
        let said = budget(&taxed, &input.settings, 100).unwrap();
        assert!(said.ends_with(" left, before tax\n"), "{said}");
    }

    #[test]
    fn terms_shown_add_up_to_the_total_shown() {
        let mut plan = sample::plan();
        plan.cost.goods = money("10.335");
        plan.cost.duty = money("1.335");
        plan.cost.shipping = money("1.335");
        plan.cost.dies = money("1.335");
        plan.cost.lines = Money::ZERO;
        plan.cost.total = money("14.34");
        let text = cost(&plan, 100);
        let amounts: Vec<Money> = text
            .lines()
            .filter(|l| {
                ["goods", "duty", "shipping", "dies"]
                    .iter()
                    .any(|t| l.starts_with(t))
            })
            .map(|l| money(l.split_whitespace().nth(1).unwrap()))
            .collect();
        assert_eq!(amounts.len(), 4);
        assert_eq!(amounts.into_iter().sum::<Money>(), money("14.34"));
        assert!(!text.contains("handling"), "{text}");
    }
}
