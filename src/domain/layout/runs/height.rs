//! Outside height of a channel along a stretch of it.

use crate::units::exact::div_round;
use crate::units::{Area, Length};
use crate::wire::book::systems::Section;

/// Outside height at a distance from the high point of a stretch.
pub fn height_at(section: &Section, distance: Length) -> Length {
    let fall = section.built_in_fall_pct.map_or(0, |p| p.millionths());
    let deep = section.overall_height_deep_end.unwrap_or(section.overall_height);
    (section.overall_height + distance.share(fall, 1_000_000)).min(deep)
}

/// How far from its high point the bottom falls; nothing where no fall is built in.
pub fn fall_reaches(section: &Section) -> Length {
    let fall = i128::from(section.built_in_fall_pct.map_or(0, |p| p.millionths()));
    let deep = section.overall_height_deep_end.unwrap_or(section.overall_height);
    let rise = i128::from((deep - section.overall_height).nm()).max(0);
    let reach = (rise * 1_000_000).checked_div(fall).unwrap_or(0);
    Length::from_nm(i64::try_from(reach).unwrap_or(i64::MAX))
}

/// Long profile of the outside height over a stretch: the integral of the height from its high point.
///
/// # Formula
/// `H(x) = min(H0 + f x, H1)`; `integral from 0 to d`, in closed form on both sides of `x1 = (H1 - H0) / f`.
/// # Units
/// lengths in, area out, exact to the square nanometre
/// # Valid for
/// `f >= 0`, `H1 >= H0`
/// # Source
/// geometry: a linear height has its mean half-way
/// # Example
/// ```
/// // 100 mm rising by 1 % over 10 m to 200 mm: the mean is 150 mm.
/// # use rillcast::{units::*, wire, domain::layout::runs::height::height_profile};
/// let section = wire::read_document(br#"{"bottom":"rectangular","inside_width":"100 mm","overall_width":"130 mm",
///   "overall_height":"100 mm","overall_height_deep_end":"200 mm","water_depth":"70 mm","bottom_thickness":"20 mm",
///   "roughness":"0.011","built_in_fall_pct":"1"}"#).expect("a section");
/// let area = height_profile(&section, Length::METRE * 10);
/// assert_eq!(area, (Length::METRE * 10) * Length::millimetres(150));
/// ```
pub fn height_profile(section: &Section, distance: Length) -> Area {
    let fall = i128::from(section.built_in_fall_pct.map_or(0, |p| p.millionths()));
    let low = section.overall_height;
    let deep = section.overall_height_deep_end.unwrap_or(low);
    if fall == 0 {
        return distance * low;
    }
    let sloped = distance.min(fall_reaches(section));
    let d = i128::from(sloped.nm());
    let wedge = div_round(d * d * fall, 2_000_000);
    Area::from_nm2((sloped * low).nm2() + wedge + ((distance - sloped) * deep).nm2())
}
