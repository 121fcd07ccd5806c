//! Every operation against every scope: only the declared one passes.

use crate::app::{TestApp, text};
use crate::document::operations;
use crate::records::Records;
use rillcast::http::auth::Scope;
use std::collections::BTreeMap;

const SCOPES: &[(&str, &str)] = &[
    ("acceptChangeOrder", "quotes:write"),
    ("acceptQuote", "quotes:write"),
    ("acceptJob", "jobs:write"),
    ("addActuals", "actuals:write"),
    ("calculateConcreteOrder", "calculate"),
    ("calculateCutList", "calculate"),
    ("calculateEstimate", "calculate"),
    ("calculateFlowCheck", "calculate"),
    ("calculateHirePlan", "calculate"),
    ("calculateLaborHours", "calculate"),
    ("calculateLayoutQuantities", "calculate"),
    ("calculatePurchasePlan", "calculate"),
    ("calculatePlan", "calculate"),
    ("calculateRisk", "calculate"),
    ("checkPriceBookVersion", "price-books:read"),
    ("createChangeOrder", "quotes:write"),
    ("createCreditNote", "invoices:write"),
    ("compareJob", "actuals:read"),
    ("compareJobs", "actuals:read"),
    ("comparePriceBookVersions", "price-books:read"),
    ("createEstimate", "estimates:write"),
    ("createInvoice", "invoices:write"),
    ("createJob", "jobs:write"),
    ("createPlan", "plans:write"),
    ("createPriceBook", "price-books:write"),
    ("createPriceBookVersion", "price-books:write"),
    ("createQuote", "quotes:write"),
    ("declineChangeOrder", "quotes:write"),
    ("declineQuote", "quotes:write"),
    ("editJob", "jobs:write"),
    ("editPriceBookDocument", "price-books:write"),
    ("exportCuttingSheet", "estimates:read"),
    ("editQuote", "quotes:write"),
    ("expireQuote", "quotes:write"),
    ("getChangeOrder", "quotes:read"),
    ("getChangeOrderUbl", "quotes:read"),
    ("getCreditNote", "invoices:read"),
    ("getCreditNoteUbl", "invoices:read"),
    ("exportPriceList", "price-books:read"),
    ("exportPurchaseOrders", "estimates:read"),
    ("getAcceptance", "jobs:read"),
    ("getCustomerView", "estimates:read"),
    ("getCuttingSheet", "estimates:read"),
    ("getEstimate", "estimates:read"),
    ("getEstimateInputs", "estimates:read"),
    ("getInvoice", "invoices:read"),
    ("getInvoiceRows", "invoices:read"),
    ("getInvoiceUbl", "invoices:read"),
    ("getJob", "jobs:read"),
    ("getLedger", "invoices:read"),
    ("getJobPlan", "plans:read"),
    ("getPlan", "plans:read"),
    ("getPlanCalendar", "plans:read"),
    ("getPriceBook", "price-books:read"),
    ("getPriceBookDocument", "price-books:read"),
    ("getPriceBookTimeline", "price-books:read"),
    ("getPriceBookVersion", "price-books:read"),
    ("getQuote", "quotes:read"),
    ("getQuoteUbl", "quotes:read"),
    ("issueChangeOrder", "quotes:write"),
    ("issueQuote", "quotes:write"),
    ("listAudit", "audit:read"),
    ("listChangeOrders", "quotes:read"),
    ("listCosts", "invoices:read"),
    ("getPriceBookVersionInEffect", "price-books:read"),
    ("getPurchaseOrderUbl", "estimates:read"),
    ("getPurchaseOrders", "estimates:read"),
    ("getRateProposal", "price-books:read"),
    ("importPriceList", "price-books:write"),
    ("createRainTable", "rain-tables:write"),
    ("getRainTable", "rain-tables:read"),
    ("importRainTable", "rain-tables:write"),
    ("listActuals", "actuals:read"),
    ("listAudit", "audit:read"),
    ("listRainTables", "rain-tables:read"),
    ("readRainTable", "rain-tables:read"),
    ("listEstimates", "estimates:read"),
    ("listAllInvoices", "invoices:read"),
    ("listAllQuotes", "quotes:read"),
    ("listInvoices", "invoices:read"),
    ("listJobs", "jobs:read"),
    ("listPayments", "invoices:read"),
    ("listPlanVersions", "plans:read"),
    ("listPriceBookVersionJobs", "jobs:read"),
    ("listPriceBookVersions", "price-books:read"),
    ("listPriceBooks", "price-books:read"),
    ("listQuotes", "quotes:read"),
    ("listRules", "calculate"),
    ("proposeRates", "price-books:write"),
    ("printChangeOrder", "quotes:read"),
    ("printCreditNote", "invoices:read"),
    ("printEstimate", "estimates:read"),
    ("printInvoice", "invoices:read"),
    ("printPurchaseOrder", "estimates:read"),
    ("printQuote", "quotes:read"),
    ("printSiteSheet", "estimates:read"),
    ("publishPriceBookVersion", "price-books:write"),
    ("recomputeChangeOrder", "quotes:read"),
    ("recomputeCreditNote", "invoices:read"),
    ("recomputeEstimate", "estimates:read"),
    ("recomputeInvoice", "invoices:read"),
    ("recomputeQuote", "quotes:read"),
    ("reportCost", "accounting:write"),
    ("reportPayment", "accounting:write"),
    ("reportVoid", "accounting:write"),
    ("reportProgress", "plans:write"),
    ("repriceJob", "estimates:write"),
    ("repriceOpenJobs", "estimates:write"),
    ("retirePriceBookVersion", "price-books:write"),
    ("supersedeQuote", "quotes:write"),
    ("withdrawChangeOrder", "quotes:write"),
    ("withdrawQuote", "quotes:write"),
];

#[tokio::test]
async fn only_the_declared_scope_opens_an_operation() {
    let table: BTreeMap<&str, &str> = SCOPES.iter().copied().collect();
    let all = operations();
    let documented: BTreeMap<&str, &str> = all.iter().map(|o| (o.id.as_str(), o.scope())).collect();
    assert_eq!(documented, table, "what the document says is not what was meant");

    let app = TestApp::start().await;
    let records = Records::make(&app).await;
    let before = app.counts().await;
    let none = app.key_with(&[]).await;
    let mut keys = Vec::new();
    for scope in Scope::ALL {
        keys.push((*scope, app.key_with(&[*scope]).await));
    }
    for operation in operations() {
        let word = operation.scope();
        let problem = app.send(operation.working(&records).key(&none)).await.problem(403, "missing-scope");
        assert!(text(&problem, "detail").contains(&format!("`{word}`")), "{}: {problem}", operation.id);
        let told = text(&operation.value["responses"]["4XX"], "description");
        assert!(told.contains(&format!("403 the key lacks the scope `{word}`")), "{}: {told}", operation.id);
        for (scope, key) in &keys {
            if scope.word() != word {
                app.send(operation.working(&records).key(key)).await.problem(403, "missing-scope");
            }
        }
    }
    let mut after = app.counts().await;
    after[4] -= keys.len() + 1; // Making the keys is in the audit trail.
    assert_eq!(before, after, "a refused request wrote something");
    for operation in operations() {
        let word = operation.scope();
        let (_, key) = keys.iter().find(|(s, _)| s.word() == word).unwrap();
        let answer = app.send(operation.working(&records).key(key)).await;
        let status = answer.status.as_u16();
        assert!(!matches!(status, 401 | 403 | 404 | 405 | 500..), "{}: {}", operation.id, answer.text());
    }
}

#[test]
fn the_document_says_what_each_scope_is_for() {
    let about = text(&crate::document::document()["components"]["securitySchemes"]["api_key"], "description");
    for scope in Scope::ALL {
        assert!(about.contains(&format!("- `{}`: {}", scope.word(), scope.about().trim())), "{about}");
    }
}

#[test]
fn scope_words_read_back() {
    for scope in Scope::ALL {
        assert_eq!(Scope::from_word(scope.word()), Some(*scope));
    }
    assert_eq!(Scope::from_word("everything"), None);
    assert!(SCOPES.iter().all(|(_, word)| Scope::from_word(word).is_some()));
    assert!(Scope::ALL.iter().all(|s| SCOPES.iter().any(|(_, word)| *word == s.word())), "an unused scope");
}

#[tokio::test]
async fn the_secret_is_not_stored() {
    let app = TestApp::start().await;
    let secret = app.key.splitn(3, '_').nth(2).unwrap().to_owned();
    app.get("/v1/jobs").await.ok(200);
    let path = app.state.inner.config.database.clone();
    app.state.inner.store.close().await;
    for entry in std::fs::read_dir(path.parent().unwrap()).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        assert!(!bytes.windows(secret.len()).any(|w| w == secret.as_bytes()));
    }
}

/// What the service holds, written out as a panic or a careless line of the log would.
#[tokio::test]
async fn no_secret_stands_in_what_the_service_holds() {
    let app = TestApp::start().await;
    app.get("/v1/jobs").await.ok(200);
    let store = &app.state.inner.store;
    let signs = store.secret("cursor_secret", || "there is one".to_owned()).await.unwrap();
    let held = format!("{:?} {:#?}", app.state, app.state);
    let secret = app.key.splitn(3, '_').nth(2).unwrap();
    let (_, whole) = app.key.split_once("rc_").unwrap();
    for canary in [signs.as_str(), secret, whole] {
        assert!(canary.len() >= 16, "{canary}");
        assert!(!held.contains(canary), "a secret is written out");
    }
    assert!(held.contains("(masked)") && held.contains("KeyCache"), "{held}");
}
