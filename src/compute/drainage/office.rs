//! The office's rules for water. Their usual values are told three times: where they are reckoned with, in the document of the price
//! book, and in the rules that answers name; the test below holds the words against the values.

use crate::compute::water::run::corner_loss_coefficient;
use crate::compute::water::runoff::{ConcentrationSettings, FrequencyFactors};
use crate::domain::book::PriceBook;
use crate::domain::usual;
use crate::units::factors::METRES_PER_FOOT;
use crate::units::{Factor, Length};
use crate::wire::water::{Preference, USUAL, WaterRules};

/// The office's rules with the usual value where it sets none.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rules<'a>(&'a WaterRules);

impl<'a> Rules<'a> {
    pub(super) fn of(book: &'a PriceBook) -> Self {
        Rules(book.doc().water_rules.as_ref().unwrap_or(&USUAL))
    }
    /// Room under the grate that a run keeps.
    pub(super) fn least_freeboard_m(self) -> f64 {
        self.0.least_freeboard.unwrap_or(usual::LEAST_FREEBOARD).metres_f64()
    }
    /// Depth of water over a grate at which it must take everything.
    pub(super) fn ponding_m(self) -> f64 {
        self.0.ponding.unwrap_or(usual::PONDING).metres_f64()
    }
    /// Part of a grate that is blocked.
    pub(super) fn clogged(self) -> f64 {
        self.0.clogged_pct.unwrap_or(usual::CLOGGED).millionths() as f64 / 1e6
    }
    /// The floor and the lengths up to which formulas are used; the usual ones stand with their settings.
    pub(super) fn concentration(self) -> ConcentrationSettings {
        let usual = ConcentrationSettings::default();
        let metres = |set: Option<Length>, usual: f64| set.map_or(usual, Length::metres_f64);
        ConcentrationSettings {
            floor_minutes: self
                .0
                .least_concentration
                .map_or(usual.floor_minutes, |s| s.seconds() as f64 / 60.0),
            longest_sheet_m: metres(self.0.longest_sheet_flow, usual.longest_sheet_m),
            longest_overland_m: metres(self.0.longest_overland_flow, usual.longest_overland_m),
            ..usual
        }
    }
    /// What a storm of a return period raises coefficients by, none where nothing names the period; the usual factors stand with
    /// their own text.
    pub(super) fn frequency_factors(self, return_period: Option<i64>) -> FrequencyFactors {
        let set = &self.0.frequency_factors;
        match return_period {
            None => FrequencyFactors(Vec::new()),
            Some(_) if set.is_empty() => FrequencyFactors::default(),
            Some(_) => {
                FrequencyFactors(set.iter().map(|s| (s.up_to_years.get() as f64, number(s.factor))).collect())
            }
        }
    }
    /// Whether the book sets such factors itself.
    pub(super) fn sets_frequency_factors(self) -> bool {
        !self.0.frequency_factors.is_empty()
    }
    /// Whether the smallest system that passes is taken rather than the cheapest.
    pub(super) fn takes_the_smallest(self) -> bool {
        self.0.preference == Some(Preference::Smallest)
    }
    /// Velocity heads lost at a corner of a run: those of a mitre.
    pub(super) fn corner_loss(self) -> f64 {
        self.0.corner_loss.map_or_else(|| corner_loss_coefficient(90.0), number)
    }
    /// Velocity heads lost at a bend of a pipe.
    pub(super) fn bend_loss(self) -> f64 {
        number(self.0.bend_loss.unwrap_or(usual::BEND_LOSS))
    }
    /// Velocity heads lost where a pipe joins another.
    pub(super) fn junction_loss(self) -> f64 {
        number(self.0.junction_loss.unwrap_or(usual::JUNCTION_LOSS))
    }
    /// Velocity below which a full pipe silts up.
    pub(super) fn least_velocity_m_per_s(self) -> f64 {
        METRES_PER_FOOT * number(self.0.least_velocity_ft_per_s.unwrap_or(usual::LEAST_VELOCITY_FT_PER_S))
    }
    /// Velocity above which a pipe wears.
    pub(super) fn greatest_velocity_m_per_s(self) -> f64 {
        METRES_PER_FOOT
            * number(self.0.greatest_velocity_ft_per_s.unwrap_or(usual::GREATEST_VELOCITY_FT_PER_S))
    }
}

fn number(factor: Factor) -> f64 {
    factor.millionths() as f64 / 1e6
}

#[cfg(test)]
mod tests {
    #![expect(clippy::unwrap_used, clippy::panic, reason = "a test stops where the document lacks a member")]

    use super::*;
    use crate::compute::rules::find;
    use crate::units::UnitSystem;
    use crate::units::show::Show;
    use utoipa::PartialSchema;

    /// A text with one blank between its words.
    fn joined(text: &str) -> String {
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn what_is_told_of_usual_values_is_what_is_reckoned_with() {
        let rules = Rules(&USUAL);
        let schema = serde_json::to_value(WaterRules::schema()).unwrap();
        let feet = |metres: f64| {
            let length = Length::from_metres_f64(metres).unwrap();
            Show(UnitSystem::Us).length(length).to_string()
        };
        let minutes = |minutes: f64| format!("{minutes} min");
        let clogged = 100.0 * rules.clogged();
        let [least, greatest] = [rules.least_velocity_m_per_s(), rules.greatest_velocity_m_per_s()]
            .map(|v| (v / METRES_PER_FOOT * 1e6).round() / 1e6);
        let times = rules.concentration();
        let factors = rules.frequency_factors(Some(10)).0;
        let steps: Vec<String> =
            factors.iter().map(|(years, factor)| format!("{factor} up to {years}")).collect();
        let (mut years, mut raised) = (Vec::new(), Vec::new());
        for (of_years, factor) in &factors {
            years.push(of_years.to_string());
            raised.push(factor.to_string());
        }
        let cf = format!("Cf {} up to {} years", raised.join(", "), years.join(", "));
        let (bend, junction) = (rules.bend_loss(), rules.junction_loss());
        let corner = format!("{:.4}", rules.corner_loss()).trim_end_matches('0').to_owned();
        let blocked = if rules.clogged() == 0.5 { "half" } else { "not half" };
        for (member, in_document, told) in [
            (
                "least_freeboard",
                feet(rules.least_freeboard_m()),
                vec![("run_freeboard", format!("at least {}", feet(rules.least_freeboard_m())))],
            ),
            (
                "ponding",
                feet(rules.ponding_m()),
                vec![("water.grate", format!("{} of water over the grate", feet(rules.ponding_m())))],
            ),
            (
                "clogged_pct",
                format!("{clogged} %"),
                vec![("water.grate", format!("{blocked} of edge and openings blocked"))],
            ),
            (
                "least_concentration",
                minutes(times.floor_minutes),
                vec![("water.catchment", format!("at least {}", minutes(times.floor_minutes)))],
            ),
            ("longest_sheet_flow", feet(times.longest_sheet_m), vec![]),
            ("longest_overland_flow", feet(times.longest_overland_m), vec![]),
            (
                "frequency_factors",
                steps.join(", ").replacen("up to 10", "up to 10 years", 1),
                vec![("water.catchment", cf)],
            ),
            (
                "corner_loss",
                format!("{corner} for a mitre"),
                vec![("water.surface", format!("{corner} (1 - cos)"))],
            ),
            (
                "bend_loss",
                bend.to_string(),
                vec![("water.pipe", format!("{bend} velocity heads lost at a bend"))],
            ),
            (
                "junction_loss",
                junction.to_string(),
                vec![("water.pipe", format!("{junction} where a pipe joins"))],
            ),
            (
                "least_velocity_ft_per_s",
                least.to_string(),
                vec![
                    ("water.pipe", format!("at least {least} ft/s flowing full")),
                    ("line_capacity", format!("{least} and {greatest} ft/s are warned of")),
                ],
            ),
            (
                "greatest_velocity_ft_per_s",
                greatest.to_string(),
                vec![("water.pipe", format!("at most {greatest} ft/s"))],
            ),
        ] {
            let document = schema["properties"][member].to_string().replace("\\n", " ");
            let said = joined(&document);
            assert!(said.contains(&format!("; {in_document}")), "{member}: {in_document} in {said}");
            for (rule, words) in told {
                let text = find(rule).unwrap_or_else(|| panic!("no rule {rule}")).formula;
                assert!(joined(text).contains(&words), "{rule}: {words} in {text}");
            }
        }
    }
}
