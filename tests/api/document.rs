//! The OpenAPI document as the tests walk it, and a working request for each operation.

use crate::app::{Ask, TestApp};
use crate::records::Records;
use axum::http::Method;
use serde_json::Value;

/// The document as JSON.
pub(crate) fn document() -> Value {
    serde_json::to_value(rillcast::http::openapi::build()).unwrap()
}

/// One operation of the document.
#[derive(Debug, Clone)]
pub(crate) struct Operation {
    pub(crate) id: String,
    pub(crate) method: Method,
    pub(crate) path: String,
    pub(crate) value: Value,
}

/// Every operation under `/v1`, in the order of the document.
pub(crate) fn operations() -> Vec<Operation> {
    let out: Vec<Operation> = all_operations().into_iter().filter(|o| o.path.starts_with("/v1/")).collect();
    assert!(out.len() >= 20, "the document lists only {} operations", out.len());
    out
}

/// Every operation that needs no key.
pub(crate) fn open_operations() -> Vec<Operation> {
    all_operations().into_iter().filter(|o| !o.path.starts_with("/v1/")).collect()
}

fn all_operations() -> Vec<Operation> {
    let document = document();
    let mut out = Vec::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            if method == "parameters" {
                continue;
            }
            out.push(Operation {
                id: operation["operationId"].as_str().unwrap_or_default().to_owned(),
                method: Method::from_bytes(method.to_uppercase().as_bytes()).unwrap(),
                path: path.clone(),
                value: operation.clone(),
            });
        }
    }
    out
}

impl Operation {
    /// Media type of the body, when there is one.
    pub(crate) fn media(&self) -> Option<String> {
        self.value["requestBody"]["content"].as_object().map(|c| c.keys().next().unwrap().clone())
    }

    /// Whether it reads JSON.
    pub(crate) fn reads_json(&self) -> bool {
        self.media().is_some_and(|m| m.ends_with("json"))
    }

    /// Media type of its good answers.
    pub(crate) fn answers_in(&self) -> &'static str {
        match self.id.as_str() {
            "getInvoiceRows" => "text/csv",
            id if id.ends_with("Ubl") => "application/xml",
            "getPlanCalendar" => "text/calendar",
            id if id.starts_with("export") => "text/csv",
            id if id.starts_with("print") => "text/html",
            _ => "application/json",
        }
    }

    /// Whether the body may be left out.
    pub(crate) fn body_optional(&self) -> bool {
        matches!(
            self.id.as_str(),
            "createEstimate"
                | "createPlan"
                | "createPriceBookVersion"
                | "proposeRates"
                | "publishPriceBookVersion"
                | "repriceJob"
                | "retirePriceBookVersion"
        )
    }

    /// The scope that its security requirement names.
    pub(crate) fn scope(&self) -> &str {
        let words = self.value["security"][0]["api_key"].as_array().map(Vec::as_slice);
        match words {
            Some([word]) => word.as_str().unwrap(),
            _ => panic!("{}: one scope, not {}", self.id, self.value["security"]),
        }
    }

    /// Whether it takes a header.
    pub(crate) fn takes_header(&self, name: &str) -> bool {
        let mut parameters = self.value["parameters"].as_array().into_iter().flatten();
        parameters.any(|p| p["name"] == name && p["in"] == "header")
    }

    /// Whether it has an id in its path.
    pub(crate) fn has_id(&self) -> bool {
        self.path.contains("{id}")
    }

    /// Example of the body that the operation gives.
    pub(crate) fn example(&self) -> Option<Value> {
        self.value["requestBody"]["content"].as_object()?.values().next()?.get("example").cloned()
    }

    /// The path with the ids of records that are there.
    pub(crate) fn path_for(&self, records: &Records) -> String {
        let id = if let Some(id) = records.papers.get(self.id.as_str()) {
            id
        } else if self.path.starts_with("/v1/jobs/") {
            &records.job
        } else if self.path.starts_with("/v1/price-books/") {
            &records.book
        } else if self.path.starts_with("/v1/plans/") {
            &records.plan
        } else if self.path.starts_with("/v1/rate-proposals/") {
            &records.proposal
        } else if self.path.starts_with("/v1/estimates/") {
            &records.estimate
        } else if matches!(self.id.as_str(), "retirePriceBookVersion" | "repriceOpenJobs") {
            &records.published
        } else {
            &records.draft
        };
        let query = match self.id.as_str() {
            "importRainTable" => "?code=imported",
            "readRainTable" => "?duration=15%20min&return_period_years=10",
            _ => "",
        };
        self.path.replace("{id}", id).replace("{code}", "demo-valley").replace("{place}", "1") + query
    }

    /// A request that the service answers with success, the key apart.
    pub(crate) fn working(&self, records: &Records) -> Ask {
        let mut ask = Ask::new(self.method.clone(), &self.path_for(records));
        let body = match self.id.as_str() {
            "createPriceBook" => Some(serde_json::json!({"document": records.document})),
            "createQuote" => Some(crate::records::terms(&records.estimate)),
            _ => self.example(),
        };
        if let (Some(media), Some(body)) = (self.media(), body) {
            // A list sent as CSV is its example's text, everything else JSON.
            ask = ask.typed(&media, as_sent(&body));
        }
        if self.needs_if_match() {
            ask = ask.header("if-match", "*");
        }
        if self.needs_key() {
            ask = ask.header("idempotency-key", &format!("working-{}", self.id));
        }
        ask
    }

    /// The answer to a working request. What works on papers has one of its own and shares the service; everything else gets
    /// a fresh one.
    pub(crate) async fn answer(&self, shared: &TestApp, papers: &Records) -> crate::app::Answer {
        self.answer_to(shared, papers, |ask| ask).await
    }

    /// As [`Self::answer`], to a changed request.
    pub(crate) async fn answer_to(
        &self,
        shared: &TestApp,
        papers: &Records,
        change: impl FnOnce(Ask) -> Ask,
    ) -> crate::app::Answer {
        let own = self.own_ground().await;
        let (app, records) = own.as_ref().map_or((shared, papers), |(app, records)| (app, records));
        app.send(change(self.working(records).key(&app.key))).await
    }

    /// The fresh service that a working request needs, with its records; nothing where it works on papers of a shared one.
    pub(crate) async fn own_ground(&self) -> Option<(TestApp, Records)> {
        let tags = &self.value["tags"];
        // The file of a purchase order names the office as the job's quote does; an accepted job is not priced anew.
        let of_papers = ["quotes", "change orders", "invoices", "ledger"].iter().any(|t| tags[0] == *t);
        if of_papers
            || ["getPurchaseOrderUbl", "printPurchaseOrder", "repriceJob"].contains(&self.id.as_str())
        {
            return None;
        }
        let app = TestApp::start().await;
        let records = Records::bare(&app).await;
        Some((app, records))
    }

    fn needs_key(&self) -> bool {
        self.needs_header("Idempotency-Key")
    }

    fn needs_if_match(&self) -> bool {
        self.needs_header("If-Match")
    }

    /// Whether it does nothing without a header.
    pub(crate) fn needs_header(&self, name: &str) -> bool {
        let mut parameters = self.value["parameters"].as_array().into_iter().flatten();
        parameters.any(|p| p["name"] == name && p["in"] == "header" && p["required"] == Value::Bool(true))
    }
}

/// An example as it is sent.
pub(crate) fn as_sent(example: &Value) -> String {
    example.as_str().map_or_else(|| example.to_string(), ToOwned::to_owned)
}

/// A working request is one only if the service agrees.
#[tokio::test]
async fn every_operation_has_a_working_request() {
    let shared = TestApp::start().await;
    let papers = Records::make(&shared).await;
    for operation in operations() {
        let answer = operation.answer(&shared, &papers).await;
        assert!(
            answer.status.is_success(),
            "{}: {} {}",
            operation.id,
            answer.status,
            answer.text().chars().take(2000).collect::<String>()
        );
    }
}
