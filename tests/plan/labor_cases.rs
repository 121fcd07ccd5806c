//! Hours, durations and unit conversions of the service against the labor cases.

use jiff::civil::date;
use rillcast::compute::{
    calendar::{CalendarDraft, HolidaySet, WeekHours, WorkingCalendar},
    labor::{crew_seconds, person_hours},
    plan::{
        bands::{PublishedWork, compare, published},
        rate_units, schedule,
    },
};
use rillcast::units::{Factor, Unit, quantity::Span};
use rust_decimal::{Decimal, prelude::*};

use crate::cases::{Case, case};
use crate::common::{request, work};

fn decimal(case: &Case, name: &str) -> Decimal {
    Decimal::from_f64(case.input(name)).unwrap()
}

/// Person-hours without setup or difficulty.
fn hours(by_quantity: Decimal, factor: Factor) -> Decimal {
    person_hours(Decimal::ZERO, by_quantity, factor, Factor::ONE)
}

fn factor(value: f64) -> Factor {
    Factor::from_millionths((value * 1e6).round() as i64)
}

/// A man-day is eight person-hours.
#[test]
fn man_days_of_drywall() {
    let eight = Decimal::from(8);
    let c = case("lab-drywall-md");
    let by_quantity = decimal(&c, "quantity_sf") / decimal(&c, "unit_sf") * decimal(&c, "mh_per_unit");
    let days = hours(by_quantity, factor(c.input("delay_factor"))) / eight;
    c.expect("man_days", days.to_f64().unwrap());

    let c = case("lab-drywall-df");
    let days = hours(decimal(&c, "man_days_base") * eight, factor(c.input("delay_factor"))) / eight;
    c.expect("man_days_rounded", days.to_f64().unwrap());
    assert_eq!(days.round(), Decimal::from(70));
}

/// Of twelve people three quarters are there, each for 0.9375 of eight hours: the crew's hours fill its workdays.
#[test]
fn duration_of_seventy_man_days() {
    let c = case("lab-duration");
    let people = (c.input("crew") * c.input("availability_factor")) as i64;
    let workday = c.input("man_day_equivalent") * 8.0;
    let of_crew = crew_seconds(
        hours(decimal(&c, "man_days") * Decimal::from(8), Factor::ONE),
        people,
        Span::from_seconds(1),
    ) as f64
        / 3600.0;
    c.expect("duration_days", of_crew / workday);

    let mut draft = CalendarDraft::us_office();
    (draft.week, draft.holidays) = (WeekHours([workday; 7]), HolidaySet::none());
    let start = date(2026, 3, 2);
    let plan = schedule(&request(WorkingCalendar::new(draft).unwrap(), start, vec![work("wall", of_crew)]));
    c.expect("workdays", f64::from((plan.unwrap().finish - start).get_days() + 1));
}

#[test]
fn hours_of_block_work() {
    let c = case("lab-cmu");
    let found =
        hours(decimal(&c, "area_sf") / Decimal::from(1000) * decimal(&c, "mh_per_1000_sf"), Factor::ONE);
    c.expect("man_hours", found.to_f64().unwrap());
    let rounded = crew_seconds(found, 1, Span::from_seconds(3600)) as f64 / 3600.0;
    c.expect("man_hours_rounded", rounded);
}

#[test]
fn hand_digging() {
    for id in [
        "lab-handdig-pp-loose_sand_or_soil",
        "lab-handdig-pp-firm_sand_or_soil",
        "lab-handdig-pp-clay_heavy_soil",
        "lab-handdig-pp-boulder_clay",
        "lab-handdig-pp-depth-1.5-3.0m_firm",
        "lab-handdig-pp-depth-3.0-4.5m_firm",
    ] {
        let c = case(id);
        let per_m3 = rate_units::reciprocal(c.input("rate_m3_per_mh")).unwrap();
        let per_yd3 = rate_units::per_yd3_from_per_m3(per_m3).unwrap();
        c.expect("mh_per_cy", per_yd3);
        if c.value("expected", "cy_per_mh").is_number() {
            c.expect("cy_per_mh", rate_units::reciprocal(per_yd3).unwrap());
        }
        let known = published().into_iter().any(|r| (r.person_hours / per_yd3 - 1.0).abs() < 1e-9);
        assert!(known, "{id} is not among the published rates");
    }
    let c = case("lab-ilo-hand");
    for (soil, name) in [
        ("soft", "mh_per_cy_soft"),
        ("medium", "mh_per_cy_medium"),
        ("hard", "mh_per_cy_hard"),
        ("very_hard", "mh_per_cy_very_hard"),
    ] {
        let per_m3 = 8.0 / c.input(soil);
        c.expect(name, rate_units::per_yd3_from_per_m3(per_m3).unwrap());
    }
}

#[test]
fn days_per_cubic_metre() {
    for id in [
        "lab-is7272-trench_soft_labor_only",
        "lab-is7272-area_hard_dense_labor_only",
        "lab-is7272-trench_soft_with_mate",
        "lab-is7272-area_hard_dense_with_mate",
        "lab-is7272-backfill_ram_labor_only",
    ] {
        let c = case(id);
        let per_m3 = c.input("days_per_m3") * c.input("hours_per_day");
        let per_yd3 = rate_units::per_yd3_from_per_m3(per_m3).unwrap();
        c.expect("mh_per_cy", per_yd3);
        let known = published().into_iter().any(|r| (r.person_hours / per_yd3 - 1.0).abs() < 1e-9);
        assert!(known, "{id} is not among the published rates");
    }
}

#[test]
fn breaking_out() {
    let kinds =
        [PublishedWork::BreakingPowered, PublishedWork::BreakingReinforced, PublishedWork::BreakingAsphalt];
    for (id, work) in [
        ("lab-break-pp-slab_plain_50_100mm", PublishedWork::BreakingPowered),
        ("lab-break-pp-slab_plain_100_200mm", PublishedWork::BreakingPowered),
        ("lab-break-pp-slab_rc_50_100mm", PublishedWork::BreakingReinforced),
        ("lab-break-pp-slab_rc_100_200mm", PublishedWork::BreakingReinforced),
        ("lab-break-pp-asphalt_50_100mm", PublishedWork::BreakingAsphalt),
    ] {
        let c = case(id);
        let per_yd3 = rate_units::per_yd3_from_per_m3(c.input("hr_per_m3")).unwrap();
        c.expect("mh_per_cy", per_yd3);
        for kind in kinds {
            assert_eq!(compare(kind, "yd3", per_yd3).unwrap().within, kind == work, "{id}: {kind:?}");
        }
    }
    for id in ["lab-break-hand-plain", "lab-break-hand-rc"] {
        let c = case(id);
        let per_m3 = c.input("labour_days") * c.input("hours_per_day") / c.input("m3");
        let per_yd3 = rate_units::per_yd3_from_per_m3(per_m3).unwrap();
        c.expect("mh_per_cy", per_yd3);
        assert!(compare(PublishedWork::BreakingByHand, "yd3", per_yd3).unwrap().within, "{id}");
        assert!(!compare(PublishedWork::BreakingPowered, "yd3", per_yd3).unwrap().within, "{id}");
    }
}

/// How many of one unit are in another of the same dimension, by the units of the API.
fn ratio(of: Unit, in_unit: Unit) -> f64 {
    of.factor().unwrap() as f64 / in_unit.factor().unwrap() as f64
}

#[test]
fn forms_and_bars() {
    let c = case("lab-form-india");
    let per_m2 = c.input("man_days") * c.input("hours_per_day") / c.input("m2");
    c.expect("mh_per_sf", per_m2 * ratio(Unit::Ft2, Unit::M2));

    let c = case("lab-rebar-india");
    let per_kg = c.input("man_days") * c.input("hours_per_day") / c.input("kg");
    c.expect("mh_per_lb", per_kg * ratio(Unit::Lb, Unit::Kg));
    c.expect("mh_per_short_ton", per_kg * ratio(Unit::ShortTon, Unit::Kg));
}

#[test]
fn old_shovel_rates() {
    let c = case("lab-shovel-1910");
    let output = rate_units::reciprocal(c.input("minutes_per_cy") / 60.0).unwrap();
    c.expect("cy_per_mh", output);
}

#[test]
fn framing_lumber() {
    let c = case("lab-fm5426-framing");
    for (name, published_as) in [
        ("mh_joists_sills", "joists and sills"),
        ("mh_beams", "beams"),
        ("mh_wall_frames", "wall frames"),
        ("mh_rafters", "rafters"),
        ("mh_wall_plywood", "wall plywood"),
        ("mh_roof_decking", "roof decking"),
    ] {
        let rate = published().into_iter().find(|r| r.case == published_as).unwrap();
        c.expect(name, rate.person_hours);
    }
}
