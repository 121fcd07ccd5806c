//! What a joint and a cut of a cut list cost, and its working.

use crate::estimate::{book, estimate};
use rillcast::domain::book::PriceBook;
use serde_json::{Value, json};

/// The list of a part of one run in clay, in a hard place.
fn listed(book: &PriceBook, part: &str, weather: Option<&str>) -> Value {
    let estimate = estimate(book, |notes| {
        *notes = json!({"soil": "clay", "difficulty": "hard",
            "runs": [{"id": "r", "legs": [{"length": "13 ft"}], "channel_system": "channel-6-u", "crossing": "wheels",
                "outlets": [{"kind": "end", "id": "o", "at": "finish"}]}]});
        if let Some(weather) = weather {
            notes["weather"] = json!(weather);
        }
    });
    let lists = estimate["layout"]["cut_lists"].as_array().unwrap();
    lists.iter().find(|l| l["part"] == part).unwrap_or_else(|| panic!("no list of {part}")).clone()
}

/// 0.15 h x 1.25 x 40.8825 = 7.665469 with a thirtieth of 18.90 and 1.5 / 24 of 9.40 is 8.882969; in wet weather 9.198563 with
/// them is 10.416063.
#[test]
fn joints_and_cuts_take_as_much_longer_in_the_weather_as_the_labor_does() {
    let demo = book(|_| {});
    let dry = listed(&demo, "channel", None);
    let consumables = "18.9 / 30 joint-cement + 9.4 x 1.5 / 24 joint-sealant";
    assert_eq!(
        dry["joint_basis"],
        format!(
            "6.4 coupling-6-u + 8.882969 channel_joints (0.15 h of assemble_channel x 1.25 (hard place) x 40.8825 an hour + \
             {consumables}) + 6.132375 channel_sections (0.12 h of assemble_channel x 1.25 (hard place) x 40.8825 an hour) = \
             21.415344"
        )
    );
    assert_eq!(
        dry["cut_basis"],
        "12.775781 channel_cuts (0.25 h of assemble_channel x 1.25 (hard place) x 40.8825 an hour) = 12.775781"
    );
    let wet = listed(&demo, "channel", Some("wet"));
    assert_eq!(
        wet["joint_basis"],
        format!(
            "6.4 coupling-6-u + 10.416063 channel_joints (0.15 h of assemble_channel x 1.25 (hard place) x 1.2 (wet weather) x \
             40.8825 an hour + {consumables}) + 7.35885 channel_sections (0.12 h of assemble_channel x 1.25 (hard place) x 1.2 \
             (wet weather) x 40.8825 an hour) = 24.174913"
        )
    );
    assert_eq!(
        wet["cut_basis"],
        "15.330938 channel_cuts (0.25 h of assemble_channel x 1.25 (hard place) x 1.2 (wet weather) x 40.8825 an hour) = \
         15.330938"
    );
    // the sum says what it multiplies to the millionth
    let basis = wet["basis"].as_str().unwrap();
    assert!(basis.contains(" x 24.174913 + ") && basis.contains(" x 15.330938 = "), "{basis}");
}

/// What comes several times a joint is told with how many times.
#[test]
fn screws_of_a_grate_are_told_with_their_number() {
    let grates = listed(&book(|_| {}), "grate", Some("fair"));
    let basis = grates["joint_basis"].as_str().unwrap();
    assert!(basis.starts_with("1.68 grate-screw (4 x 0.42) + "), "{basis}");
    assert!(
        basis.contains(" grate_screws (4 x (0.01 h of fit_grates x 1.25 (hard place) x 40.8825 an hour)) = "),
        "{basis}"
    );
}

/// A rate for the soil goes before one for all soils, as it does for the hours.
#[test]
fn a_rate_for_the_soil_goes_before_one_for_all() {
    let own = book(|book| {
        let labor = book["labor"].as_array_mut().unwrap();
        let rates = labor
            .iter_mut()
            .filter(|l| l["task"] == "assemble_channel")
            .flat_map(|l| l["rates"].as_array_mut());
        rates.for_each(|rates| {
            rates.push(json!({"measure": "channel_cuts", "unit": "each", "hours": "0.5", "soils": ["clay"]}))
        });
    });
    let basis = listed(&own, "channel", None)["cut_basis"].clone();
    assert!(basis.as_str().unwrap().starts_with("25.551563 channel_cuts (0.5 h of "), "{basis}");
}
