//! Whether a method can do the work at all.

use std::collections::BTreeSet;

/// A way of doing a task, with what it cannot do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Method {
    /// What it is called.
    pub name: String,
    /// Deepest it reaches, in nanometres.
    pub reach_nm: Option<i64>,
    /// Thickest slab it cuts or breaks, in nanometres.
    pub thickest_nm: Option<i64>,
    /// Narrowest and widest trench it leaves, in nanometres.
    pub width_nm: Option<(i64, i64)>,
    /// Materials it cannot work, by the names the price book uses.
    pub cannot_work: BTreeSet<String>,
}

/// What a task asks of its method; what is not known is not checked.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Conditions {
    /// Depth to dig, in nanometres.
    pub depth_nm: Option<i64>,
    /// Slab thickness, in nanometres.
    pub thickness_nm: Option<i64>,
    /// Trench width asked for, in nanometres.
    pub width_nm: Option<i64>,
    /// Soil or other material.
    pub material: Option<String>,
}

/// One check of a method.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MethodCheck {
    /// What was checked.
    pub rule: &'static str,
    /// Whether the method can do it.
    pub passed: bool,
    /// What is asked and what the method can do.
    pub text: String,
}

/// Checks a method against the conditions: one line per limit that the method states and the conditions
/// touch.
///
/// # Example
/// ```
/// use rillcast::compute::plan::methods::{Conditions, Method, check};
/// let trencher = Method {
///     name: "walk-behind trencher".into(),
///     reach_nm: Some(914_400_000), // 36 in
///     thickest_nm: None,
///     width_nm: None,
///     cannot_work: ["rock".to_string()].into(),
/// };
/// let deep = Conditions { depth_nm: Some(1_219_200_000), ..Conditions::default() };
/// let checks = check(&trencher, &deep);
/// assert!(!checks[0].passed);
/// assert!(checks[0].text.contains("48.00 in"));
/// ```
pub fn check(method: &Method, conditions: &Conditions) -> Vec<MethodCheck> {
    let mut checks = Vec::new();
    let name = &method.name;
    if let (Some(depth), Some(reach)) = (conditions.depth_nm, method.reach_nm) {
        let text = format!(
            "{} deep, {name} reaches {}{}",
            inches(depth),
            inches(reach),
            fix(depth > reach, "take a method that reaches deeper")
        );
        checks.push(MethodCheck { rule: "reach", passed: depth <= reach, text });
    }
    if let (Some(thickness), Some(most)) = (conditions.thickness_nm, method.thickest_nm) {
        let text = format!(
            "slab {}, {name} does {}{}",
            inches(thickness),
            inches(most),
            fix(thickness > most, "take a deeper saw or a heavier breaker")
        );
        checks.push(MethodCheck { rule: "slab thickness", passed: thickness <= most, text });
    }
    if let (Some(width), Some((least, most))) = (conditions.width_nm, method.width_nm) {
        let passed = (least..=most).contains(&width);
        let text = format!(
            "trench {}, {name} leaves {} to {}{}",
            inches(width),
            inches(least),
            inches(most),
            fix(!passed, "change the width or the method")
        );
        checks.push(MethodCheck { rule: "trench width", passed, text });
    }
    if let Some(material) = &conditions.material {
        let passed = !method.cannot_work.contains(material);
        let can = if passed { "is not excluded for" } else { "cannot be worked by" };
        let text = format!("{material} {can} {name}{}", fix(!passed, "take a method made for it"));
        checks.push(MethodCheck { rule: "material", passed, text });
    }
    checks
}

fn fix(failed: bool, words: &str) -> String {
    if failed { format!("; {words}") } else { String::new() }
}

fn inches(nanometres: i64) -> String {
    format!("{:.2} in", nanometres as f64 / 25_400_000.0)
}
