//! By how much longer work takes in a hard place and in bad weather.

use crate::domain::words::{Difficulty, Weather};
use crate::units::Factor;
use crate::wire::book::work::LaborRules;
use std::fmt;

/// What the place and the weather multiply hours by; one each where the book says nothing of them.
///
/// Printed as working goes on with it: ` x 1.25 (hard place) x 1.2 (wet weather)`, nothing for factors of one.
#[derive(Debug, Clone, Copy)]
pub(in crate::compute) struct PlaceAndWeather {
    difficulty: Difficulty,
    expected: Option<Weather>,
    pub(in crate::compute) place: Factor,
    pub(in crate::compute) weather: Factor,
}

impl PlaceAndWeather {
    /// Those of a place and of the weather that is expected there.
    pub(in crate::compute) fn of(
        difficulty: Difficulty,
        expected: Option<Weather>,
        rules: Option<&LaborRules>,
    ) -> Self {
        let place = rules.and_then(|r| r.difficulty.iter().find(|d| d.difficulty == difficulty));
        let weather = rules.and_then(|r| r.weather.iter().find(|w| Some(w.weather) == expected));
        Self {
            difficulty,
            expected,
            place: place.map_or(Factor::ONE, |d| d.factor),
            weather: weather.map_or(Factor::ONE, |w| w.factor),
        }
    }

    /// Whether work takes no longer and no shorter for them.
    pub(super) fn is_plain(self) -> bool {
        self.place == Factor::ONE && self.weather == Factor::ONE
    }
}

impl fmt::Display for PlaceAndWeather {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { difficulty, expected, place, weather } = self;
        if *place != Factor::ONE {
            write!(f, " x {place} ({difficulty} place)")?;
        }
        match expected {
            Some(Weather::Heat) if *weather != Factor::ONE => write!(f, " x {weather} (hot weather)"),
            Some(word) if *weather != Factor::ONE => write!(f, " x {weather} ({word} weather)"),
            _ => Ok(()),
        }
    }
}
