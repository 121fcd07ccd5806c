//! Contract = quote + accepted change orders = asked for + retained + open, at every step of a random walk.

use proptest::prelude::*;
use rillcast::compute::contract::invoice::held_on;
use rillcast::compute::contract::sums::share;
use rillcast::compute::contract::{accept, account, change, credit, held, invoice, quote};
use rillcast::units::Amount;
use rillcast::wire::contract::account::{Account, Component, Effect};
use rillcast::wire::contract::inputs::{ChangeInputs, CreditInputs, InvoiceInputs, QuoteInputs};
use rillcast::wire::contract::terms::{Retainage, RetainageBase};
use rillcast::wire::day::OfficeDay;
use rillcast::wire::{Wire, read_value};
use rust_decimal::Decimal;
use serde_json::{Value, json};

const CATEGORIES: [&str; 4] = ["material", "labor", "hire", "permit"];

fn read<T: Wire>(value: &Value) -> T {
    read_value(value).unwrap_or_else(|e| panic!("{e}: {value}"))
}

fn money(minor: i64) -> String {
    Amount::from_minor(minor).to_string()
}

fn job() -> Value {
    json!({"job_id": "job_x", "title": "Drive", "customer": {"name": "Household"}, "site": {"address": "14 Alder Bend"}})
}

fn rules(rates: (i64, i64), per_line: bool) -> Value {
    let rounding = if per_line { "per_line" } else { "per_document" };
    let rate = |r: i64| format!("{}.{:02}", r / 100, r % 100);
    json!([
        {"code": "state", "name": "State", "rate_pct": rate(rates.0), "categories": ["material", "hire"], "rounding": rounding},
        {"code": "city", "name": "City", "rate_pct": rate(rates.1), "categories": ["material", "labor"], "rounding": rounding}
    ])
}

/// An issued quote over prices by category.
fn issued(setting: &Setting) -> QuoteInputs {
    let Setting { prices, rates, per_line, retainage, with_tax, stages } = setting;
    let rules = rules(*rates, *per_line);
    let categories: Vec<Value> = CATEGORIES
        .iter()
        .zip(prices)
        .map(|(c, p)| json!({"category": c, "price": money(*p), "cost": money(p * 7 / 10)}))
        .collect();
    let mut inputs = json!({
        "number": "Q-0001", "issued_on": "2026-03-02", "job": job(),
        "terms": {
            "estimate_id": "est_x", "seller": {"name": "Office"}, "valid_until": "2026-04-01",
            "retainage": {"pct": retainage.to_string(), "held_on": if *with_tax { "with_tax" } else { "before_tax" }},
            "schedule": [
                {"code": "deposit", "name": "Deposit", "due": "deposit", "pct": stages.0.to_string()},
                {"code": "work", "name": "Work", "due": "progress", "pct": stages.1.to_string()},
                {"code": "done", "name": "Done", "due": "completion", "pct": (100 - stages.0 - stages.1).to_string()}
            ],
            "lines": [{"code": "front", "description": "Front", "category": "material", "pct": "33.3333"}]
        },
        "estimate": {
            "estimate_id": "est_x", "revision": 1, "price_book_version_id": "pbv_x", "price_book": "Book",
            "price_book_number": 1, "engine": "1", "currency": "USD", "categories": categories, "tax_rules": rules,
            "taxes": [], "crew_hours": "10", "person_hours": "20"
        }
    });
    // The estimate states its taxes; here they follow from the rules.
    let read_rules: Vec<rillcast::wire::contract::facts::TaxRule> =
        rules.as_array().unwrap().iter().map(read).collect();
    let sums =
        rillcast::compute::contract::sums::ByCategory::collect(CATEGORIES.iter().zip(prices).map(
            |(c, p)| (rillcast::domain::words::Category::from_word(c).unwrap(), Amount::from_minor(*p)),
        ));
    let taxes: Vec<Value> = read_rules
        .iter()
        .map(|r| {
            let amount = rillcast::compute::contract::sums::tax(r, &sums);
            json!({"code": r.code, "taxable": sums.taxable(r).to_string(), "amount": amount.to_string()})
        })
        .collect();
    inputs["estimate"]["taxes"] = json!(taxes);
    read(&inputs)
}

#[derive(Debug, Clone)]
struct Setting {
    prices: Vec<i64>,
    rates: (i64, i64),
    per_line: bool,
    retainage: i64,
    with_tax: bool,
    stages: (i64, i64),
}

#[derive(Debug, Clone)]
enum Step {
    Change(Vec<(usize, i64)>),
    Deduct(usize, i64),
    Percent(i64),
    Line(usize, i64, bool),
    Amount(usize, i64, bool),
    Stage(usize),
    ChangeOrder(usize),
    Retainage(Option<i64>),
    Final(bool),
    CreditWhole(usize),
    CreditLine(usize, usize, i64),
    Void(usize),
}

fn setting() -> impl Strategy<Value = Setting> {
    (
        prop::collection::vec(0_i64..2_000_000, 4),
        (0_i64..1200, 0_i64..500),
        any::<bool>(),
        0_i64..20,
        any::<bool>(),
        (0_i64..40, 0_i64..50),
    )
        .prop_map(|(prices, rates, per_line, retainage, with_tax, stages)| Setting {
            prices,
            rates,
            per_line,
            retainage,
            with_tax,
            stages,
        })
}

fn step() -> impl Strategy<Value = Step> {
    let index = 0_usize..12;
    prop_oneof![
        prop::collection::vec((0_usize..4, -300_000_i64..300_000), 1..4).prop_map(Step::Change),
        (0_usize..4, -300_000_i64..0).prop_map(|(c, p)| Step::Deduct(c, p)),
        (0_i64..101).prop_map(Step::Percent),
        (index.clone(), 0_i64..130, any::<bool>()).prop_map(|(i, p, o)| Step::Line(i, p, o)),
        (index.clone(), -50_000_i64..400_000, any::<bool>()).prop_map(|(i, a, o)| Step::Amount(i, a, o)),
        (0_usize..3).prop_map(Step::Stage),
        (1_usize..4).prop_map(Step::ChangeOrder),
        prop::option::of(0_i64..100_000).prop_map(Step::Retainage),
        any::<bool>().prop_map(Step::Final),
        index.clone().prop_map(Step::CreditWhole),
        (index.clone(), index.clone(), 1_i64..200_000).prop_map(|(i, l, a)| Step::CreditLine(i, l, a)),
        index.prop_map(Step::Void),
    ]
}

/// Steps that hold their share of what they bill and release nothing.
fn holding() -> impl Strategy<Value = Step> {
    let (few, line) = (0_usize..5, 0_usize..8);
    prop_oneof![
        (0_usize..4, -300_000_i64..0).prop_map(|(c, p)| Step::Deduct(c, p)),
        (0_i64..101).prop_map(Step::Percent),
        (line.clone(), 0_i64..101).prop_map(|(i, p)| Step::Line(i, p, false)),
        (1_usize..3).prop_map(Step::Stage),
        Just(Step::Final(true)),
        few.clone().prop_map(Step::CreditWhole),
        (few.clone(), line, 1_i64..200_000).prop_map(|(i, l, a)| Step::CreditLine(i, l, a)),
        few.prop_map(Step::Void),
    ]
}

/// An invoice or credit note of the walk.
struct Paper {
    effect: Effect,
    live: bool,
    /// The retainage an invoice holds.
    retainage: Option<Retainage>,
    /// The invoice a credit note belongs to.
    of: Option<usize>,
    said_over: bool,
}

struct Walk {
    quote: QuoteInputs,
    components: Vec<Component>,
    papers: Vec<Paper>,
    changes: usize,
}

impl Walk {
    fn start(setting: &Setting) -> Self {
        let quote = issued(setting);
        let document = quote::quote(&quote).unwrap_or_else(|e| panic!("{e}"));
        let prices: i64 = setting.prices.iter().sum();
        assert_eq!(document.offer.before_tax.minor(), prices);
        assert_eq!(document.offer.lines.iter().map(|l| l.price).sum::<Amount>(), document.offer.before_tax);
        assert_eq!(document.schedule.iter().map(|s| s.total).sum::<Amount>(), document.offer.total);
        let accepted = read(&json!({"by": "Household", "on": "2026-03-05"}));
        let components = accept::accept(&quote, &accepted, OfficeDay { day: accepted.on, zone: "UTC" })
            .unwrap_or_else(|e| panic!("{e}"));
        let total: Amount = components.iter().map(worth).sum();
        assert_eq!(total, document.offer.total, "what is accepted is what was offered");
        Self { quote, components, papers: Vec::new(), changes: 0 }
    }

    fn account(&self) -> Account {
        let effects: Vec<Effect> = self.papers.iter().filter(|p| p.live).map(|p| p.effect.clone()).collect();
        account::open(&self.quote, &self.components, &effects).unwrap()
    }

    /// The retainage that live invoices hold net of their credit notes.
    fn held_on_invoices(&self) -> Amount {
        let of = |invoice: usize| -> Vec<Effect> {
            let notes = self.papers.iter().filter(|p| p.live && p.of == Some(invoice));
            notes.map(|p| p.effect.clone()).collect()
        };
        let invoices = self.papers.iter().enumerate().filter(|(_, p)| p.live && p.of.is_none());
        invoices.map(|(i, p)| held::still_held(p.retainage.as_ref(), &p.effect, &of(i))).sum()
    }

    fn bill(&mut self, bill: &Value, over: bool) -> bool {
        let before = self.account();
        let request = json!({"bill": bill, "on": "2026-03-09", "over_contract": over});
        let inputs = InvoiceInputs {
            number: read(&json!("INV-0001")),
            job: self.quote.job.clone(),
            seller: self.quote.terms.seller.clone(),
            tax_scheme: read(&json!("STT")),
            payment_terms: None,
            deposits_due_at_once: read(&json!(true)),
            request: read(&request),
            account: before.clone(),
            held_on_invoices: Some(read(&json!(self.held_on_invoices()))),
            dated_after: None,
            quoted: None,
        };
        let Ok((document, effect)) = invoice::invoice(&inputs) else { return false };
        assert_eq!(document.before_tax, document.lines.iter().map(|l| l.amount).sum());
        assert_eq!(document.tax, document.taxes.iter().map(|t| t.amount).sum());
        assert_eq!(document.total, document.before_tax + document.tax);
        assert_eq!(document.payable, document.total - document.retained + document.released);
        // The snapshot read back makes the same paper.
        let again: InvoiceInputs = read(&serde_json::to_value(&inputs).unwrap());
        let (second, same) = invoice::invoice(&again).unwrap();
        assert_eq!(serde_json::to_vec(&second).unwrap(), serde_json::to_vec(&document).unwrap());
        assert_eq!(same, effect);
        self.papers.push(Paper {
            effect,
            retainage: held_on(&inputs).cloned(),
            live: true,
            of: None,
            said_over: over,
        });
        let after = self.account();
        let stated = document.account;
        assert_eq!(
            (stated.contract, stated.invoiced, stated.retained, stated.open),
            (after.total(), after.invoiced.0, after.retained.0, after.open())
        );
        true
    }

    fn change(&mut self, lines: &[(usize, i64)]) {
        let code = format!("co-{}", self.changes + 1);
        let lines: Vec<Value> = lines
            .iter()
            .enumerate()
            .map(|(i, (category, price))| {
                json!({"code": format!("l{i}"), "description": "Line", "category": CATEGORIES[*category],
                    "price": money(*price)})
            })
            .collect();
        let before = self.account().total();
        let inputs: ChangeInputs = read(&json!({
            "number": "CO-1", "code": code, "issued_on": "2026-03-06", "job": job(), "seller": {"name": "Office"},
            "quote": "Q-0001", "currency": "USD", "tax_scheme": "STT",
            "request": {"title": "Change", "basis": {"kind": "lines", "lines": lines}},
            "from": serde_json::to_value(&self.quote.estimate).unwrap(),
            "tax_rules": serde_json::to_value(&self.quote.estimate.tax_rules).unwrap(),
            "contract_before": before.to_string(), "crew_hours_per_day": 8
        }));
        let (document, component) = change::change(&inputs).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(document.contract_after, before + document.total);
        self.components.push(component);
        self.changes += 1;
        assert_eq!(self.account().total(), document.contract_after, "the running sum is the contract");
    }

    fn credit(&mut self, index: usize, credit: impl Fn(&Effect) -> Option<Value>) -> bool {
        let invoices: Vec<usize> =
            (0..self.papers.len()).filter(|i| self.papers[*i].live && self.papers[*i].of.is_none()).collect();
        let Some(of) = invoices.get(index).copied() else { return false };
        let account = self.account();
        let billed = self.papers[of].effect.clone();
        let Some(asked) = credit(&billed) else { return false };
        let mut before: Value = json!({"retained": "0.00", "released": "0.00", "payable": "0.00"});
        let (mut lines, mut taxes) = (Vec::new(), Vec::new());
        let (mut retained, mut released, mut payable) = (Amount::ZERO, Amount::ZERO, Amount::ZERO);
        for earlier in self.papers.iter().filter(|p| p.live && p.of == Some(of)) {
            lines.extend(earlier.effect.lines.iter().cloned());
            taxes.extend(earlier.effect.taxes.iter().cloned());
            retained += earlier.effect.retained.0;
            released += earlier.effect.released.0;
            payable += earlier.effect.payable.0;
        }
        before["retained"] = json!(retained.to_string());
        before["released"] = json!(released.to_string());
        before["payable"] = json!(payable.to_string());
        before["lines"] = json!(lines);
        if taxes.len() > 20 {
            return false;
        }
        before["taxes"] = json!(taxes);
        let contract: Vec<_> = account
            .lines
            .iter()
            .filter(|p| billed.lines.iter().any(|l| l.line == p.line.code))
            .map(|p| p.line.clone())
            .collect();
        let mut snapshot = json!({
            "number": "CN-0001", "invoice": "INV-0001", "invoice_on": "2026-03-09", "job": job(),
            "seller": {"name": "Office"}, "currency": "USD", "tax_scheme": "STT",
            "request": {"credit": asked, "on": "2026-03-10", "reason": "Wrong"},
            "lines": contract, "tax_rules": self.quote.estimate.tax_rules.to_vec(),
            "billed": billed, "before": before, "held": account.retained.to_string(),
            "held_on_invoices": self.held_on_invoices().to_string()
        });
        if let Some(retainage) = &self.papers[of].retainage {
            snapshot["retainage"] = json!(retainage);
        }
        let inputs: CreditInputs = read(&snapshot);
        let Ok((document, effect)) = credit::credit(&inputs) else { return false };
        assert_eq!(document.before_tax, document.lines.iter().map(|l| l.price).sum());
        assert_eq!(document.payable, document.total - document.retained + document.released);
        let whole = matches!(asked["kind"].as_str(), Some("whole"));
        if !whole && billed.lines.iter().all(|l| l.amount.0 >= Amount::ZERO) {
            // What is held on the lines given back, and roundings to date of this note and of those before.
            let most = self.papers[of].retainage.as_ref().map_or(Amount::ZERO, |r| {
                let with_tax = r.held_on == Some(RetainageBase::WithTax);
                share(if with_tax { document.total } else { document.before_tax }, r.pct.share())
            });
            assert!(document.retained <= most + Amount::from_minor(2), "{most} held on it: {document:?}");
            assert!(document.payable >= Amount::ZERO, "a credit note asks for money: {document:?}");
        }
        self.papers.push(Paper {
            effect: effect.clone(),
            retainage: None,
            live: true,
            of: Some(of),
            said_over: false,
        });
        if whole {
            let mut left = billed.lines.iter().map(|l| l.amount.0).sum::<Amount>();
            let mut tax = billed.taxes.iter().map(|t| t.amount.0).sum::<Amount>();
            for credit in self.papers.iter().filter(|p| p.live && p.of == Some(of)) {
                left += credit.effect.lines.iter().map(|l| l.amount.0).sum();
                tax += credit.effect.taxes.iter().map(|t| t.amount.0).sum();
            }
            assert_eq!((left, tax), (Amount::ZERO, Amount::ZERO), "a whole credit leaves nothing");
        }
        true
    }

    /// Whether credit notes stand on an invoice.
    fn credited(&self, index: usize) -> bool {
        let mut invoices =
            (0..self.papers.len()).filter(|i| self.papers[*i].live && self.papers[*i].of.is_none());
        invoices.nth(index).is_some_and(|of| self.papers.iter().any(|p| p.live && p.of == Some(of)))
    }

    fn void(&mut self, index: usize) -> bool {
        let invoices: Vec<usize> =
            (0..self.papers.len()).filter(|i| self.papers[*i].live && self.papers[*i].of.is_none()).collect();
        let Some(of) = invoices.get(index).copied() else { return false };
        let on_it = self.papers.iter().filter(|p| p.live && p.of == Some(of));
        let credit_notes: Vec<Effect> = on_it.map(|p| p.effect.clone()).collect();
        let held = self.held_on_invoices();
        if self.account().bars_void(&self.papers[of].effect, &credit_notes, held).is_some() {
            return false;
        }
        self.papers[of].live = false;
        true
    }

    fn take(&mut self, step: &Step) -> bool {
        let line = |walk: &Walk, index: usize| {
            let account = walk.account();
            account.lines[index % account.lines.len()].line.code.to_string()
        };
        match step {
            Step::Change(lines) => {
                self.change(lines);
                true
            }
            Step::Deduct(category, price) => {
                self.change(&[(*category, *price)]);
                self.bill(
                    &json!({"kind": "change_order", "change_order": format!("co-{}", self.changes)}),
                    false,
                )
            }
            Step::Percent(pct) => {
                self.bill(&json!({"kind": "percent", "pct_to_date": pct.to_string()}), false)
            }
            Step::Line(index, pct, over) => {
                let code = line(self, *index);
                let bill =
                    json!({"kind": "lines", "lines": [{"line": code, "pct_to_date": pct.to_string()}]});
                self.bill(&bill, *over)
            }
            Step::Amount(index, amount, over) => {
                let code = line(self, *index);
                let bill = json!({"kind": "lines", "lines": [{"line": code, "amount": money(*amount)}]});
                self.bill(&bill, *over)
            }
            Step::Stage(index) => {
                self.bill(&json!({"kind": "stage", "stage": (["deposit", "work", "done"][*index])}), false)
            }
            Step::ChangeOrder(index) => {
                self.bill(&json!({"kind": "change_order", "change_order": format!("co-{index}")}), false)
            }
            Step::Retainage(None) => self.bill(&json!({"kind": "retainage"}), false),
            Step::Retainage(Some(amount)) => {
                self.bill(&json!({"kind": "retainage", "amount": money(*amount)}), false)
            }
            Step::Final(keep) => self.bill(&json!({"kind": "final", "keep_retainage": keep}), false),
            Step::CreditWhole(index) => self.credit(*index, |_| Some(json!({"kind": "whole"}))),
            Step::CreditLine(index, line, amount) => self.credit(*index, |effect| {
                let line = effect.lines.get(*line)?;
                let amount = if line.amount.0 < Amount::ZERO { -*amount } else { *amount };
                Some(json!({"kind": "lines", "lines": [{"line": line.line, "amount": money(amount)}]}))
            }),
            Step::Void(index) => self.void(*index),
        }
    }

    /// While nothing was released, what is held is the share of what is billed in all; each paper rounds its part to a cent.
    fn check_share(&self, setting: &Setting) {
        let account = self.account();
        let base = if setting.with_tax { account.billed() } else { account.billed_before_tax() };
        let share = share(base, Decimal::new(setting.retainage, 2)).max(Amount::ZERO);
        let off = account.retained.0 - share;
        let roundings = Amount::from_minor(self.papers.len() as i64 + 1);
        assert!(off <= roundings && -off <= roundings, "{} held, {share} of {base}", account.retained);
    }

    fn check(&self) {
        let account = self.account();
        let worth_of_all: Amount = self.components.iter().map(worth).sum();
        assert_eq!(account.total(), worth_of_all, "contract = quote + accepted change orders");
        assert_eq!(
            account.invoiced.0 + account.retained.0 + account.open(),
            account.total(),
            "contract = asked for + retained + open"
        );
        assert_eq!(account.billed(), account.invoiced.0 + account.retained.0);
        let most = self.held_on_invoices().max(Amount::ZERO);
        assert!(
            (Amount::ZERO..=most).contains(&account.retained.0),
            "{} held, {most} on invoices",
            account.retained
        );
        // Nothing goes beyond a line unless it was said, and what is said can be given back.
        if !self.papers.iter().any(|p| p.said_over) {
            for position in account.lines.iter() {
                let (low, high) =
                    (position.line.price.0.min(Amount::ZERO), position.line.price.0.max(Amount::ZERO));
                assert!((low..=high).contains(&position.billed.0), "{position:?}");
            }
        }
    }
}

fn worth(component: &Component) -> Amount {
    component.lines.iter().map(|l| l.price.0).sum::<Amount>()
        + component.taxes.iter().map(|t| t.amount.0).sum::<Amount>()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_contract_is_what_is_asked_for_retained_and_open_at_every_step(
        setting in setting(), steps in prop::collection::vec(step(), 1..25)
    ) {
        let mut walk = Walk::start(&setting);
        walk.check();
        for step in &steps {
            walk.take(step);
            walk.check();
        }
        // The final invoice closes the account to the cent, whatever came before.
        walk.bill(&json!({"kind": "final"}), true);
        walk.check();
        let account = walk.account();
        prop_assert_eq!(account.open(), Amount::ZERO);
        prop_assert_eq!(account.retained.0, Amount::ZERO);
        prop_assert_eq!(account.invoiced.0, account.total());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn all_that_was_billed_goes_back_in_any_order_and_leaves_nothing(
        setting in setting(), steps in prop::collection::vec(step(), 1..20), order in prop::collection::vec(0_usize..12, 0..8)
    ) {
        let mut walk = Walk::start(&setting);
        // Where every line adds, no sum is ever below nothing and no more is held than the invoices that stay hold.
        let adds = |s: &Step| match s {
            Step::Change(lines) => lines.iter().all(|(_, price)| *price >= 0),
            Step::Deduct(..) => false,
            Step::Line(_, _, over) | Step::Amount(_, _, over) => !over,
            _ => true,
        };
        let all_add = steps.iter().all(adds);
        for step in &steps {
            walk.take(step);
        }
        walk.bill(&json!({"kind": "final"}), true);
        let whole = |_: &Effect| Some(json!({"kind": "whole"}));
        // As they come first, then whatever is left; what releases what another held stands in the way of its void only.
        for index in order.into_iter().chain((0..3).flat_map(|_| (0..30).rev())) {
            if !walk.credit(index, whole) && !walk.credited(index) {
                walk.void(index);
            }
            walk.check();
            let account = walk.account();
            if all_add {
                prop_assert!(account.retained.0 <= walk.held_on_invoices(), "{} held", account.retained);
                prop_assert!(account.invoiced.0 >= Amount::ZERO && account.billed() >= Amount::ZERO, "{}", account.invoiced);
            }
        }
        let account = walk.account();
        let sum = |of: fn(&Effect) -> Amount| walk.papers.iter().filter(|p| p.live).map(|p| of(&p.effect)).sum::<Amount>();
        prop_assert_eq!((account.invoiced.0, account.retained.0, account.billed()), (Amount::ZERO, Amount::ZERO, Amount::ZERO));
        prop_assert_eq!((sum(|e| e.retained.0), sum(|e| e.released.0)), (Amount::ZERO, Amount::ZERO));
        prop_assert_eq!(account.open(), account.total());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_held_is_the_share_of_what_is_billed_in_all(
        setting in setting(), steps in prop::collection::vec(holding(), 1..25)
    ) {
        let mut walk = Walk::start(&setting);
        for step in &steps {
            walk.take(step);
            walk.check();
            walk.check_share(&setting);
        }
    }
}

/// The walk is no walk when its steps are refused.
#[test]
fn most_kinds_of_steps_are_taken() {
    use proptest::strategy::ValueTree as _;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut taken = std::collections::BTreeMap::new();
    for _ in 0..60 {
        let setting = setting().new_tree(&mut runner).unwrap().current();
        let mut walk = Walk::start(&setting);
        for _ in 0..20 {
            let step = step().new_tree(&mut runner).unwrap().current();
            let name = format!("{step:?}").split(['(', ' ']).next().unwrap().to_owned();
            *taken.entry(name).or_insert(0) += usize::from(walk.take(&step));
        }
    }
    assert!(taken.len() == 12 && taken.values().all(|n| *n >= 3), "{taken:?}");
}
