//! Whether the setting detail of a run is made for what crosses it.

use super::check;
use crate::domain::book::PriceBook;
use crate::domain::layout::Run;
use crate::domain::lines::{Check, Outcome};
use crate::domain::words::{Crossing, LoadClass};
use crate::units::show::worded;
use crate::wire::book::systems::SettingDetail;

/// A detail that names load classes lighter than what crosses fails. What a use bears is told less surely: a detail that is too
/// light by its use alone is warned of, and so is one that goes by classes of the other standard.
pub(super) fn made_for(run: &Run<'_>, book: &PriceBook) -> Check {
    let (detail, crossing) = (run.detail, run.crossing);
    let code = &detail.code;
    let serves = || detail.crossings.iter().map(|c| book.serves(*c, crossing));
    let any_serves = |how: bool| serves().any(|serves| serves == Some(how));
    let (outcome, reason) = if detail.crossings.contains(&crossing) {
        (Outcome::Pass, worded!("`{crossing}` crosses and setting detail `{code}` is made for it"))
    } else if any_serves(true) {
        let made = words(detail);
        (
            Outcome::Pass,
            worded!("`{crossing}` crosses and setting detail `{code}` is made for {made}: no less"),
        )
    } else {
        let is_class = |c: &Crossing| c.class().is_some();
        let class_lighter =
            detail.crossings.iter().zip(serves()).any(|(c, serves)| is_class(c) && serves == Some(false));
        match heaviest(detail, crossing, book) {
            Some(most) if class_lighter => {
                (Outcome::Fail, lighter(detail, crossing, book, &worded!("no more than {most}")))
            }
            Some(most) if any_serves(false) => {
                (Outcome::Warn, lighter(detail, crossing, book, &worded!("by use no more than {most}")))
            }
            _ => (Outcome::Warn, lighter(detail, crossing, book, "which cannot be compared with it")),
        }
    };
    check("setting_detail", worded!("run {}", run.id), outcome, reason)
}

/// That the detail is not made for what crosses, and what to do.
fn lighter(detail: &SettingDetail, crossing: Crossing, book: &PriceBook, how: &str) -> String {
    let made = words(detail);
    let remedy = match book.detail_for(crossing) {
        Some(other) => worded!("take `{}`, which is, by leaving `setting_detail` out", other.code),
        None => worded!("add a detail for `{crossing}` to the price book and name that"),
    };
    worded!(
        "`{crossing}` crosses and setting detail `{}` is not made for it but for {made}, {how}: {remedy}; such a surround follows \
         the channel maker's installation instructions and licensed practice",
        detail.code
    )
}

/// What a detail is made for.
fn words(detail: &SettingDetail) -> String {
    detail.crossings.iter().map(|c| worded!("`{c}`")).collect::<Vec<_>>().join(", ")
}

/// The heaviest class that a detail is made for, by name or by use, of the standard in which it is compared with what crosses.
fn heaviest(detail: &SettingDetail, crossing: Crossing, book: &PriceBook) -> Option<LoadClass> {
    let of_detail = || detail.crossings.iter().find_map(|c| c.class());
    let by = |standard: LoadClass| {
        let classes = detail.crossings.iter().filter_map(|c| book.least_class(*c, standard));
        classes.filter(|class| class.is_en_1433() == standard.is_en_1433()).max()
    };
    match crossing.class().or_else(of_detail) {
        Some(standard) => by(standard),
        None => by(LoadClass::A15).or_else(|| by(LoadClass::Light)),
    }
}
