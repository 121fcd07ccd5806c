//! Hours, man-days and unit conversions against the labor cases.

use rillcast::compute::plan::{
    TradeId,
    bands::{PublishedWork, compare, published},
    hours::{HoursRequest, RateBasis, Rounding, TaskRate, hours, mean_factor},
    man_days, rate_units,
};

use crate::cases::case;

#[test]
fn man_days_of_drywall() {
    let c = case("lab-drywall-md");
    let days = man_days::man_days(
        c.input("quantity_sf"),
        c.input("unit_sf"),
        c.input("mh_per_unit"),
        c.input("delay_factor"),
    );
    c.expect("man_days", days.unwrap());

    let c = case("lab-drywall-df");
    let days = man_days::man_days(c.input("man_days_base"), 1.0, 8.0, c.input("delay_factor")).unwrap();
    c.expect("man_days_rounded", days);
    assert_eq!(days.round(), 70.0);
}

#[test]
fn delay_and_efficiency() {
    let c = case("lab-df-formula");
    c.expect("delay_factor", man_days::delay_factor(c.input("efficiency_pct")).unwrap());

    let c = case("lab-efficiency-avg");
    let efficiency = man_days::efficiency_mean(&c.inputs("elements_pct")).unwrap();
    c.expect("efficiency_pct", efficiency);
    c.expect("delay_factor", man_days::delay_factor(efficiency).unwrap());
}

#[test]
fn duration_of_seventy_man_days() {
    let c = case("lab-duration");
    let duration = man_days::duration(
        c.input("man_days"),
        c.input("crew") as u32,
        c.input("availability_factor"),
        c.input("man_day_equivalent"),
    )
    .unwrap();
    c.expect("duration_days", duration.exact_days);
    c.expect("workdays", f64::from(duration.workdays));
}

#[test]
fn man_day_equivalents_and_capability() {
    let c = case("lab-me-9h");
    let equivalent = man_days::man_day_equivalent(c.input("workday_hr"), 0.0, 0.0, 0.0).unwrap();
    c.expect("man_day_equivalent", equivalent);

    let c = case("lab-me-10h");
    let equivalent = man_days::man_day_equivalent(
        c.input("workday_hr"),
        c.input("lunch_hr"),
        c.input("travel_hr"),
        c.input("breaks_hr"),
    );
    c.expect("man_day_equivalent", equivalent.unwrap());

    let c = case("lab-mc");
    let capability = man_days::man_day_capability(
        c.input("direct_labor") as u32,
        c.input("workdays") as u32,
        c.input("man_day_equivalent"),
        c.input("availability_factor"),
    );
    c.expect("man_day_capability", capability.unwrap());
}

#[test]
fn hours_of_block_work() {
    let c = case("lab-cmu");
    let request = HoursRequest {
        rate: TaskRate {
            name: "Lay block".into(),
            unit: "1,000 sf".into(),
            unit_hours: c.input("mh_per_1000_sf"),
            basis: RateBasis::PersonHours,
            setup_crew_hours: 0.0,
        },
        quantity: c.input("area_sf") / 1000.0,
        crew: [(TradeId::new("mason").unwrap(), 1)].into(),
        factors: vec![],
        rounding: Rounding::UpTo(1.0),
    };
    let found = hours(&request).unwrap();
    c.expect("man_hours", found.crew_hours_exact);
    c.expect("man_hours_rounded", found.crew_hours);

    let c = case("lab-cmu-rate");
    let (days, output) =
        rate_units::days_and_daily_output(c.input("man_hours"), 8.0, c.input("blocks")).unwrap();
    c.expect("days", days);
    c.expect("blocks_per_day", output);
}

#[test]
fn averaged_factors() {
    let c = case("lab-labor-factor-avg");
    let factors = c.inputs("factors");
    c.expect("sum", factors.iter().sum());
    c.expect("mean", mean_factor(&factors).unwrap());
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
        let per_m3 = rate_units::from_days(1.0, 8.0, c.input(soil)).unwrap();
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
        let per_m3 = rate_units::from_days(c.input("days_per_m3"), c.input("hours_per_day"), 1.0).unwrap();
        c.expect("mh_per_m3", per_m3);
        let per_yd3 = rate_units::per_yd3_from_per_m3(per_m3).unwrap();
        c.expect("mh_per_cy", per_yd3);
        let known = published().into_iter().any(|r| (r.person_hours / per_yd3 - 1.0).abs() < 1e-9);
        assert!(known, "{id} is not among the published rates");
    }
}

#[test]
fn breaking_out() {
    for id in [
        "lab-break-pp-slab_plain_50_100mm",
        "lab-break-pp-slab_plain_100_200mm",
        "lab-break-pp-slab_rc_50_100mm",
        "lab-break-pp-slab_rc_100_200mm",
        "lab-break-pp-asphalt_50_100mm",
    ] {
        let c = case(id);
        let per_yd3 = rate_units::per_yd3_from_per_m3(c.input("hr_per_m3")).unwrap();
        c.expect("mh_per_cy", per_yd3);
        let band = compare(PublishedWork::BreakingPowered, "yd3", per_yd3).unwrap();
        assert!(band.within, "{id}");
    }
    for id in ["lab-break-hand-plain", "lab-break-hand-rc"] {
        let c = case(id);
        let per_m3 =
            rate_units::from_days(c.input("labour_days"), c.input("hours_per_day"), c.input("m3")).unwrap();
        c.expect("mh_per_m3", per_m3);
        let per_yd3 = rate_units::per_yd3_from_per_m3(per_m3).unwrap();
        c.expect("mh_per_cy", per_yd3);
        assert!(compare(PublishedWork::BreakingByHand, "yd3", per_yd3).unwrap().within, "{id}");
        assert!(!compare(PublishedWork::BreakingPowered, "yd3", per_yd3).unwrap().within, "{id}");
    }
}

#[test]
fn forms_and_bars() {
    let c = case("lab-form-india");
    let per_m2 = rate_units::from_days(c.input("man_days"), c.input("hours_per_day"), c.input("m2")).unwrap();
    c.expect("mh_per_m2", per_m2);
    c.expect("mh_per_sf", rate_units::per_ft2_from_per_m2(per_m2).unwrap());

    let c = case("lab-rebar-india");
    let per_kg = rate_units::from_days(c.input("man_days"), c.input("hours_per_day"), c.input("kg")).unwrap();
    let per_lb = rate_units::per_lb_from_per_kg(per_kg).unwrap();
    c.expect("mh_per_lb", per_lb);
    c.expect("mh_per_short_ton", per_lb * rate_units::LB_PER_SHORT_TON);
}

#[test]
fn old_shovel_rates() {
    let c = case("lab-shovel-1910");
    let output = rate_units::reciprocal(c.input("minutes_per_cy") / 60.0).unwrap();
    c.expect("cy_per_mh", output);

    let c = case("lab-trench-shovel-1910");
    let rate = rate_units::from_cost(c.input("cents_per_cy"), c.input("cents_per_hr")).unwrap();
    c.expect("mh_per_cy", rate);
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
