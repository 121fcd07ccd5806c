//! A scope per operation, deny by default.

use crate::app::{TestApp, operations};
use axum::body::Body;
use axum::http::Request;
use rillcast::http::auth::Scope;
use std::collections::BTreeSet;

/// Which scope each operation declares.
const DECLARED: &[(&str, Scope)] = &[
    ("calculateLayoutQuantities", Scope::Calculate),
    ("calculateConcreteOrder", Scope::Calculate),
    ("calculateLaborHours", Scope::Calculate),
    ("calculateEstimate", Scope::Calculate),
    ("listRules", Scope::Calculate),
    ("createPriceBook", Scope::PriceBooksWrite),
    ("listPriceBooks", Scope::PriceBooksRead),
    ("getPriceBook", Scope::PriceBooksRead),
    ("createPriceBookVersion", Scope::PriceBooksWrite),
    ("listPriceBookVersions", Scope::PriceBooksRead),
    ("getPriceBookVersion", Scope::PriceBooksRead),
    ("getPriceBookDocument", Scope::PriceBooksRead),
    ("editPriceBookDocument", Scope::PriceBooksWrite),
    ("checkPriceBookVersion", Scope::PriceBooksRead),
    ("publishPriceBookVersion", Scope::PriceBooksWrite),
    ("retirePriceBookVersion", Scope::PriceBooksWrite),
    ("createJob", Scope::JobsWrite),
    ("listJobs", Scope::JobsRead),
    ("getJob", Scope::JobsRead),
    ("editJob", Scope::JobsWrite),
    ("createEstimate", Scope::EstimatesWrite),
    ("listEstimates", Scope::EstimatesRead),
    ("getEstimate", Scope::EstimatesRead),
    ("getEstimateInputs", Scope::EstimatesRead),
    ("recomputeEstimate", Scope::EstimatesRead),
    ("listAudit", Scope::AuditRead),
];

#[tokio::test]
async fn only_the_declared_scope_passes() {
    let app = TestApp::new().await;
    let declared: BTreeSet<&str> = DECLARED.iter().map(|d| d.0).collect();
    let offered: BTreeSet<String> = operations().into_iter().map(|o| o.2).collect();
    assert_eq!(declared, offered.iter().map(String::as_str).collect::<BTreeSet<_>>());
    let mut keys = Vec::new();
    for scope in Scope::ALL {
        keys.push((*scope, app.key(&[*scope]).await));
    }
    for (method, template, operation) in operations() {
        let path = app.path(&template).await;
        let needed = DECLARED.iter().find(|d| d.0 == operation).unwrap().1;
        for (scope, key) in &keys {
            let request = Request::builder()
                .method(method.as_str())
                .uri(&path)
                .header("authorization", format!("Bearer {key}"))
                .body(Body::empty())
                .unwrap();
            let answer = app.send(request).await;
            if *scope == needed {
                assert!(
                    ![401, 403].contains(&answer.status.as_u16()),
                    "{operation} {scope:?} {}",
                    answer.text
                );
            } else {
                let answer = answer.problem(403);
                assert!(answer.header("www-authenticate").contains(needed.word()), "{operation}");
            }
        }
    }
}
