//! Values of the demo book that are the trade's defaults.

use crate::support::book;
use rillcast::domain::words::{Crossing, LoadClass};
use rillcast::units::{Factor, Length, Percent};
use rillcast::wire::book::concrete::ConcreteWay;

const fn inch(n: i64) -> Length {
    Length::inches(n, 1)
}

/// Common practice, no source.
#[test]
fn surround_recess_gap_and_fall() {
    let book = book();
    let feet = book.detail_for(Crossing::Feet).expect("a detail for feet");
    assert_eq!((feet.side, feet.base, feet.end, feet.recess), (inch(4), inch(0), inch(4), inch(0)));
    let wheels = book.detail_for(Crossing::Wheels).expect("a detail for wheels");
    assert_eq!((wheels.side, wheels.base, wheels.end), (inch(4), inch(4), inch(4)));
    assert_eq!(wheels.recess, Length::inches(1, 8));
    for detail in [feet, wheels] {
        assert_eq!(detail.hot_grate_gap, Some(Length::inches(1, 8)));
    }
    let rules = book.doc().line_rules.as_ref().expect("rules of drain lines");
    assert_eq!(rules.usual_fall_pct, Percent::whole(1));
    assert_eq!((rules.bedding, rules.bedding_over_rock, rules.zone_over_pipe), (inch(4), inch(6), inch(6)));
    assert_eq!(rules.dig_table_interval, Length::feet(8));
    // From memory: a hanger at both ends and each 4 ft between.
    assert_eq!(book.doc().hangers.as_ref().expect("hangers").spacing, Length::feet(4));
}

/// NAVEDTRA 14070 ch. 5 (read): waste 10 %. UFGS 03301A (read): 7 days for Type I. A city's code table (read): least
/// falls. Plumbing-code habit (from memory): clean-outs. ASTM D2321-05 (read): trench width.
#[test]
fn values_with_a_source() {
    let book = book();
    let concrete = book.doc().concrete_rules.as_ref().expect("rules of concrete");
    assert_eq!((concrete.waste_pct, concrete.cure_days_wheels.get()), (Percent::whole(10), 7));
    let rules = book.doc().line_rules.as_ref().expect("rules of drain lines");
    let falls: Vec<Percent> = rules.least_falls.iter().map(|b| b.least_pct).collect();
    assert_eq!(falls, [Percent::whole(2), Percent::whole(1), Percent::from_millionths(5_000)]);
    assert_eq!((rules.clean_out_turn.get(), rules.clean_out_every), (135, Length::feet(100)));
    assert_eq!((rules.width_plus, rules.width_times_plus), (inch(16), inch(12)));
    assert_eq!(rules.width_times, Factor::from_millionths(1_250_000));
    // ASTM C387 label yield (from memory): 0.15 ft³ for each 20 lb.
    let foot = Length::FOOT * Length::FOOT * Length::FOOT;
    for way in &book.doc().concrete_ways {
        if let ConcreteWay::Bags { bag_weight, bag_yield, .. } = way {
            assert_eq!(bag_yield.nm3() * 20 * 100 * 45_359_237, foot.nm3() * 15 * bag_weight.base());
        }
    }
    // The book of the demo is stricter than nothing: a car's wheels call for B125 or heavy duty.
    assert_eq!(book.least_class(Crossing::Wheels, LoadClass::A15), Some(LoadClass::B125));
    assert_eq!(book.least_class(Crossing::Wheels, LoadClass::Light), Some(LoadClass::Heavy));
}
