//! Who and what the papers of a contract name: the job as it stands when they are made, told where its quote has it otherwise.

use super::invoice::PaperWarning;
use crate::wire::Label;
use crate::wire::contract::facts::JobFact;
use crate::wire::notes::{Customer, Site};

/// Code of the warning that a paper names customer, site or title otherwise than the quote: it is for the office, not for the customer.
pub const OTHER_THAN_QUOTED: &str = "other_than_quoted";

/// What a paper names of a job, in the words of the warning.
fn named(job: &JobFact) -> [(&'static str, Option<&Label>); 6] {
    let JobFact { job_id: _, title, customer, site } = job;
    let Customer { name, phone, email, address } = customer;
    // How to get in is no part of an address, and changes with every visit.
    let Site { address: place, access: _ } = site;
    [
        ("customer name", Some(name)),
        ("customer address", address.as_ref()),
        ("customer telephone", phone.as_ref()),
        ("customer e-mail", email.as_ref()),
        ("site address", Some(place)),
        ("title", Some(title)),
    ]
}

/// Each thing that two states of a job name otherwise, as it is now and as it was quoted.
fn differing(now: &JobFact, quoted: &JobFact) -> Vec<String> {
    let shown = |text: Option<&Label>| text.map_or_else(|| "none".to_owned(), |text| format!("`{text}`"));
    let both = named(now).into_iter().zip(named(quoted));
    both.filter(|((_, now), (_, then))| now != then)
        .map(|((what, now), (_, then))| format!("{what} {}, there {}", shown(now), shown(then)))
        .collect()
}

/// What a snapshot keeps of the job as its quote has it: nothing where the job is named as it was quoted.
pub fn quoted_otherwise(now: &JobFact, quoted: &JobFact) -> Option<JobFact> {
    (!differing(now, quoted).is_empty()).then(|| quoted.clone())
}

/// What is said of a paper that names the job otherwise than its quote.
pub(super) fn otherwise(now: &JobFact, quoted: Option<&JobFact>, quote: &Label) -> Option<PaperWarning> {
    let differing = differing(now, quoted?);
    let text =
        format!("named as the job has it now, otherwise than on quote {quote}: {}", differing.join("; "));
    Some(PaperWarning { code: OTHER_THAN_QUOTED, text })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "tests")]
    use super::*;
    use crate::wire::read_value;
    use serde_json::json;

    fn job(name: &str, address: Option<&str>, access: &str) -> JobFact {
        let mut job = json!({"job_id": "job_1", "title": "Drive", "customer": {"name": name},
            "site": {"address": "14 Alder Bend", "access": access}});
        if let Some(address) = address {
            job["customer"]["address"] = json!(address);
        }
        read_value(&job).unwrap()
    }

    #[test]
    fn what_differs_is_told_with_both_sides() {
        let (quoted, now) = (job("Exmaple", None, "Gate"), job("Example", Some("2 Quarry Road"), "Gate"));
        let quote = Label::new("Q-0001").unwrap();
        assert_eq!(quoted_otherwise(&now, &quoted), Some(quoted.clone()));
        let told = otherwise(&now, Some(&quoted), &quote).unwrap();
        assert_eq!(told.code, OTHER_THAN_QUOTED);
        assert_eq!(
            told.text,
            "named as the job has it now, otherwise than on quote Q-0001: customer name `Example`, there `Exmaple`; customer address \
             `2 Quarry Road`, there none"
        );
        // Neither the same job nor another way in is told.
        assert_eq!(quoted_otherwise(&now, &now), None);
        assert_eq!(quoted_otherwise(&now, &job("Example", Some("2 Quarry Road"), "Side door")), None);
        assert_eq!(otherwise(&now, None, &quote), None);
    }
}
