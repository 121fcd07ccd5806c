//! Load classes that uses call for.

use super::Check;
use crate::domain::words::{Crossing, LoadClass};
use crate::wire::At;
use crate::wire::book::systems::UseClass;

/// A standard of load classes, as a use class names it.
struct Standard {
    member: &'static str,
    name: &'static str,
    en: bool,
    class: fn(&UseClass) -> Option<LoadClass>,
}

const STANDARDS: [Standard; 2] = [
    Standard { member: "en_1433", name: "EN 1433", en: true, class: |u| u.en_1433 },
    Standard { member: "asme_a112_6_3", name: "ASME A112.6.3", en: false, class: |u| u.asme_a112_6_3 },
];

pub(super) fn check(check: &mut Check<'_>) {
    let doc = check.doc;
    let classes = At::ROOT.member("use_classes");
    for needed in [Crossing::Feet, Crossing::Wheels] {
        if !doc.use_classes.iter().any(|u| u.crossing == needed) {
            check.add(&classes, "missing_class", format!("say which load class `{needed}` calls for"));
        }
    }
    for (i, class) in doc.use_classes.iter().enumerate() {
        let here = classes.element(i);
        if class.crossing.class().is_some() {
            check.add(
                &here.member("crossing"),
                "not_a_use",
                format!(
                    "`{}` is a load class already; only `feet` and `wheels` call for one",
                    class.crossing
                ),
            );
        }
        if doc.use_classes.iter().take(i).any(|u| u.crossing == class.crossing) {
            check.twice(&here.member("crossing"), class.crossing.word());
        }
        for standard in &STANDARDS {
            in_standard(check, class, standard, &here);
        }
    }
    let class_of = |needed: Crossing| doc.use_classes.iter().enumerate().find(|(_, u)| u.crossing == needed);
    if let (Some((_, feet)), Some((i, wheels))) = (class_of(Crossing::Feet), class_of(Crossing::Wheels)) {
        let here = classes.element(i);
        for Standard { member, class, .. } in &STANDARDS {
            if let (Some(feet), Some(wheels)) = (class(feet), class(wheels))
                && wheels.carries(feet) == Some(false)
            {
                check.faults.value(
                    &here.member(member),
                    "contradiction",
                    wheels.word(),
                    format!("wheels call for no lower class than feet, `{feet}`"),
                );
            }
        }
    }
}

/// A class by one of the standards: it may be left out where no grate is rated by it.
fn in_standard(check: &mut Check<'_>, class: &UseClass, standard: &Standard, at: &At<'_>) {
    let Standard { member, name, en, class: of } = standard;
    let here = at.member(member);
    let Some(named) = of(class) else {
        let mut grates = check.doc.channel_systems.iter().flat_map(|s| s.grates.iter());
        let rated = grates.find(|g| g.load_class.is_some_and(|c| c.is_en_1433() == *en));
        let nothing_named = *en && class.en_1433.is_none() && class.asme_a112_6_3.is_none();
        if let Some(grate) = rated {
            check.add(
                &here,
                "required",
                format!(
                    "grate `{}` is rated by {name}: say which of its classes `{}` calls for",
                    grate.item, class.crossing
                ),
            );
        } else if nothing_named {
            check.add(&here, "required", "name the class by EN 1433, by ASME A112.6.3, or by both");
        }
        return;
    };
    if named.is_en_1433() != *en {
        check.add(&here, "contradiction", format!("`{named}` is a class of the other standard"));
    } else if class.crossing.is_wheeled() {
        feet_only(check, named, name, &here);
    }
}

/// The lowest class of either standard is for people on foot and on bicycles.
fn feet_only(check: &mut Check<'_>, class: LoadClass, standard: &str, at: &At<'_>) {
    if !matches!(class, LoadClass::A15 | LoadClass::Light) {
        return;
    }
    let of_standard = LoadClass::ALL.iter().filter(|c| c.is_en_1433() == class.is_en_1433());
    check
        .faults
        .value(
            at,
            "class_for_feet",
            class.word(),
            format!("`{class}` of {standard} is for feet and bicycles only; where wheels cross, name a higher class"),
        )
        .allow(of_standard.filter(|c| **c > class).map(|c| c.word()));
}
