//! Where along a chain the outside height of its channel changes.

use super::height::{fall_reaches, height_at};
use crate::domain::layout::{Chain, Reach};
use crate::units::Length;
use crate::wire::book::systems::Section;

/// A part of a chain over which the outside height is level or changes evenly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slope {
    /// Where it begins, from the start of the chain.
    pub from: Length,
    /// Where it ends.
    pub to: Length,
    /// Outside height where it begins.
    pub near: Length,
    /// Outside height where it ends.
    pub far: Length,
}

impl Slope {
    /// How long it is.
    pub fn length(&self) -> Length {
        self.to - self.from
    }

    /// Outside height at a station of it.
    pub fn height_at(&self, station: Length) -> Length {
        self.near + (self.far - self.near).share((station - self.from).nm(), self.length().nm())
    }

    /// From where to where the channel is higher than that.
    ///
    /// ```
    /// use rillcast::{domain::layout::runs::slopes::Slope, units::Length};
    /// let mm = Length::millimetres;
    /// // 100 mm to 200 mm over 10 m: it passes 150 mm half-way.
    /// let slope = Slope { from: mm(0), to: mm(10_000), near: mm(100), far: mm(200) };
    /// assert_eq!(slope.higher_than(mm(150)), Some((mm(5_000), mm(10_000))));
    /// assert_eq!(slope.higher_than(mm(200)), None);
    /// ```
    pub fn higher_than(&self, least: Length) -> Option<(Length, Length)> {
        let passes = || {
            let (rise, change) = (least - self.near, self.far - self.near);
            self.from + self.length().share(rise.nm(), change.nm())
        };
        match (self.near > least, self.far > least) {
            (false, false) => None,
            (true, true) => Some((self.from, self.to)),
            (true, false) => Some((self.from, passes())),
            (false, true) => Some((passes(), self.to)),
        }
    }
}

impl Chain {
    /// The outside height along the chain, part by part from its start.
    pub fn slopes(&self, section: &Section) -> Vec<Slope> {
        let low = section.overall_height;
        if section.built_in_fall_pct.is_none() {
            return vec![Slope { from: Length::ZERO, to: self.length, near: low, far: low }];
        }
        let falls = fall_reaches(section);
        let mut out = Vec::new();
        for reach in self.reaches() {
            let Reach { high, outlet } = reach;
            let sloped = reach.length().min(falls);
            let deepest = height_at(section, reach.length());
            if outlet > high {
                let turn = high + sloped;
                out.push(Slope { from: high, to: turn, near: low, far: deepest });
                out.push(Slope { from: turn, to: outlet, near: deepest, far: deepest });
            } else {
                let turn = high - sloped;
                out.push(Slope { from: outlet, to: turn, near: deepest, far: deepest });
                out.push(Slope { from: turn, to: high, near: deepest, far: low });
            }
        }
        out.retain(|slope| slope.length().is_positive());
        out
    }
}

#[cfg(test)]
#[expect(clippy::panic, reason = "a section that cannot be read stops a test")]
mod tests {
    use super::*;

    /// 180 mm to 330 mm by 0.5 %: the fall reaches 30 m.
    fn section(fall: &str) -> Section {
        let text = format!(
            r#"{{"bottom":"rectangular","inside_width":"200 mm","overall_width":"240 mm","overall_height":"180 mm",
            "water_depth":"130 mm","bottom_thickness":"25 mm","roughness":"0.011"{fall}}}"#
        );
        crate::wire::read_document(text.as_bytes()).unwrap_or_else(|e| panic!("{e}"))
    }

    fn heights(metres: i64, outlets: &[i64], section: &Section) -> Vec<[i64; 4]> {
        let outlets = outlets.iter().map(|m| Length::METRE * *m).collect();
        let chain = Chain { first: 0, end: 1, length: Length::METRE * metres, from_tee: false, outlets };
        let mm = |l: Length| l.nm() / Length::MILLIMETRE.nm();
        chain.slopes(section).iter().map(|s| [s.from, s.to, s.near, s.far].map(mm)).collect()
    }

    #[test]
    fn a_channel_with_fall_is_deepest_at_its_outlets() {
        let falls = section(
            r#","overall_height_deep_end":"330 mm","water_depth_deep_end":"280 mm","built_in_fall_pct":"0.5""#,
        );
        let at = |outlets: &[i64]| heights(60, outlets, &falls);
        assert_eq!(at(&[30]), [[0, 30_000, 180, 330], [30_000, 60_000, 330, 180]]);
        assert_eq!(at(&[60]), [[0, 30_000, 180, 330], [30_000, 60_000, 330, 330]]);
        assert_eq!(at(&[0]), [[0, 30_000, 330, 330], [30_000, 60_000, 330, 180]]);
        assert_eq!(at(&[0, 60]), [[0, 30_000, 330, 180], [30_000, 60_000, 180, 330]]);
        // From the short side the channel meets the outlet higher up.
        assert_eq!(
            at(&[50]),
            [[0, 30_000, 180, 330], [30_000, 50_000, 330, 330], [50_000, 60_000, 230, 180]]
        );
    }

    #[test]
    fn a_level_channel_is_one_height() {
        assert_eq!(heights(60, &[30], &section("")), [[0, 60_000, 180, 180]]);
    }
}
