//! Papers and reports: what is issued stays, whatever writes to the file.

use crate::{File, actor};
use rillcast::store::StoreError;
use rillcast::store::papers::{NewPaper, Rewritten};
use rillcast::store::reports::NewReport;

fn paper(id: &str, kind: &'static str, number: Option<&str>, state: &'static str) -> NewPaper {
    NewPaper {
        id: id.to_owned(),
        job_id: "job_1".to_owned(),
        kind,
        number: number.map(str::to_owned),
        state,
        estimate_id: None,
        of_paper: None,
        inputs: "{}".to_owned(),
        document: "{\"a\":1}".to_owned(),
        effect: Some("{}".to_owned()),
        total_minor: 100,
        payable_minor: 100,
    }
}

fn report(id: &str, reference: &str) -> NewReport {
    NewReport {
        id: id.to_owned(),
        job_id: "job_1".to_owned(),
        paper_id: None,
        kind: "cost",
        system: "books".to_owned(),
        reference: reference.to_owned(),
        on_date: "2026-03-01".to_owned(),
        amount_minor: 100,
        category: Some("material"),
        committed: false,
        document: "{}".to_owned(),
    }
}

#[tokio::test]
async fn an_issued_paper_cannot_be_changed_by_sql_either() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    write.put_paper(&paper("quo_1", "quote", Some("Q-0001"), "issued")).await.unwrap();
    write.put_paper(&paper("quo_2", "quote", None, "draft")).await.unwrap();
    write.put_paper(&paper("inv_1", "invoice", Some("INV-0001"), "issued")).await.unwrap();
    write.decide_paper("quo_1", 1, "accepted", "{\"by\":\"H\"}", None).await.unwrap();
    write.put_paper(&paper("quo_3", "quote", Some("Q-0003"), "issued")).await.unwrap();
    write.decide_paper("quo_3", 1, "declined", "{\"by\":\"H\"}", None).await.unwrap();
    write.put_report(&report("rep_1", "B-1")).await.unwrap();
    write.commit().await.unwrap();
    let raw = file.raw().await;
    for (statement, reason) in [
        ("UPDATE papers SET document = '{}' WHERE id = 'inv_1'", "an issued paper cannot change"),
        ("UPDATE papers SET inputs = '[]' WHERE id = 'inv_1'", "an issued paper cannot change"),
        ("UPDATE papers SET number = NULL WHERE id = 'inv_1'", "an issued paper cannot change"),
        ("UPDATE papers SET total_minor = 1 WHERE id = 'inv_1'", "an issued paper cannot change"),
        ("UPDATE papers SET payable_minor = 1 WHERE id = 'inv_1'", "an issued paper cannot change"),
        ("UPDATE papers SET effect = NULL WHERE id = 'inv_1'", "an issued paper cannot change"),
        ("UPDATE papers SET decision = '{}' WHERE id = 'quo_1'", "an issued paper cannot change"),
        ("UPDATE papers SET state = 'draft' WHERE id = 'inv_1'", "no draft again"),
        ("UPDATE papers SET state = 'withdrawn' WHERE id = 'quo_1'", "a closed paper stays closed"),
        (
            "UPDATE papers SET estimate_id = 'est_1' WHERE id = 'inv_1'",
            "keeps its place and what it stands on",
        ),
        ("UPDATE papers SET of_paper = 'quo_1' WHERE id = 'inv_1'", "keeps its place and what it stands on"),
        ("UPDATE papers SET place = 9 WHERE id = 'inv_1'", "keeps its place and what it stands on"),
        ("UPDATE papers SET created_at = 0 WHERE id = 'inv_1'", "keeps its place and what it stands on"),
        ("UPDATE papers SET state = 'issued' WHERE id = 'quo_3'", "can only be superseded"),
        ("UPDATE papers SET state = 'accepted' WHERE id = 'quo_3'", "can only be superseded"),
        ("DELETE FROM papers WHERE id = 'quo_2'", "a paper cannot be deleted"),
        ("UPDATE papers SET state = 'lost' WHERE id = 'quo_2'", "CHECK"),
        ("UPDATE papers SET number = 'Q-0001' WHERE id = 'quo_2'", "UNIQUE"),
        ("UPDATE papers SET state = 'accepted' WHERE id = 'quo_2'", "UNIQUE"),
        ("UPDATE reports SET amount_minor = 1", "a report cannot change"),
        ("DELETE FROM reports", "a report cannot be deleted"),
    ] {
        let error = sqlx::query(statement).execute(&raw).await.map(|_| ()).unwrap_err().to_string();
        assert!(error.contains(reason), "{statement}: {error}");
    }
    // A draft is not frozen yet; what was paid of an invoice moves.
    sqlx::query("UPDATE papers SET document = '{}' WHERE id = 'quo_2'").execute(&raw).await.unwrap();
    let mut write = file.store.begin(actor(3_000)).await.unwrap();
    write.settle_paper("inv_1", 1, "paid", 100, 0).await.unwrap();
    write.commit().await.unwrap();
    let row = file.store.paper("inv_1").await.unwrap().unwrap();
    assert_eq!((row.paid_minor, row.row_version, row.document.as_str()), (100, 2, "{\"a\":1}"));
}

#[tokio::test]
async fn stale_writes_and_second_reports_are_refused() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    write.put_paper(&paper("quo_1", "quote", None, "draft")).await.unwrap();
    write.put_report(&report("rep_1", "B-1")).await.unwrap();
    let again = write.put_report(&report("rep_2", "B-1")).await;
    assert!(matches!(again, Err(StoreError::Conflict)));
    let new = Rewritten {
        number: Some("Q-0001".to_owned()),
        state: "issued",
        estimate_id: None,
        inputs: "{}".to_owned(),
        document: "{}".to_owned(),
        effect: None,
        total_minor: 1,
    };
    assert!(matches!(write.write_paper("quo_1", 7, &new).await, Err(StoreError::Stale)));
    write.write_paper("quo_1", 1, &new).await.unwrap();
    // Issued: it is no draft that could be written again.
    assert!(matches!(write.write_paper("quo_1", 2, &new).await, Err(StoreError::Stale)));
    assert!(matches!(write.decide_paper("quo_1", 1, "declined", "{}", None).await, Err(StoreError::Stale)));
    assert!(matches!(write.settle_paper("quo_1", 1, "paid", 0, 0).await, Err(StoreError::Stale)));
}

#[tokio::test]
async fn a_number_that_was_rolled_back_is_given_again() {
    let file = File::populated().await;
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    assert_eq!(write.next_number("invoice").await.unwrap(), 1);
    assert_eq!(write.next_number("quote").await.unwrap(), 1);
    write.commit().await.unwrap();
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    assert_eq!(write.next_number("invoice").await.unwrap(), 2);
    drop(write);
    let mut write = file.store.begin(actor(2_000)).await.unwrap();
    assert_eq!(write.next_number("invoice").await.unwrap(), 2);
    assert_eq!(write.ledger_version("job_1").await.unwrap(), 1);
    write.touch_ledger("job_1").await.unwrap();
    write.touch_ledger("job_1").await.unwrap();
    assert_eq!(write.ledger_version("job_1").await.unwrap(), 3);
}
