//! Every statement of the project but those that open, check and copy a database (`connect`, `backup`).

macro_rules! statements {
    ($($(#[doc = $doc:literal])+ $name:ident = $text:expr;)+) => {
        $($(#[doc = $doc])+ pub const $name: &str = $text;)+

        /// All statements by name, for the test that prepares each one.
        pub const ALL: &[(&str, &str)] = &[$((stringify!($name), $name)),+];
    };
}

/// A job with its acceptance; lists leave the notes out.
macro_rules! job {
    ($notes:literal, $which:expr) => {
        concat!(
            "SELECT j.id, j.title, j.customer, j.site, ",
            $notes,
            " AS notes, j.external_refs, j.row_version, j.created_at, j.updated_at, j.closed_at, a.accepted_on, \
             a.estimate_id AS accepted_estimate_id FROM jobs j LEFT JOIN acceptances a ON a.job_id = j.id WHERE ",
            $which
        )
    };
}

/// Jobs that a filter lets through, after a place in the order.
macro_rules! jobs {
    ($after:literal) => {
        job!(
            "NULL",
            concat!(
                "($1 IS NULL OR j.search LIKE $1 ESCAPE '\\') AND ($2 IS NULL OR j.search LIKE $2 ESCAPE '\\') \
                 AND ($3 IS NULL OR j.search LIKE $3 ESCAPE '\\') AND ($4 IS NULL OR j.updated_at >= $4) \
                 AND ($5 IS NULL OR (a.job_id IS NOT NULL) = $5) AND ($6 IS NULL OR EXISTS (SELECT 1 FROM job_refs r \
                 WHERE r.job_id = j.id AND r.external_id = $6 AND ($7 IS NULL OR r.system = $7))) AND ",
                $after
            )
        )
    };
}

/// Versions of price books with the names of their books; lists leave the document out.
macro_rules! version {
    ($document:literal, $which:literal) => {
        concat!(
            "SELECT v.id, v.book_id, b.name, v.number, v.state, ",
            $document,
            " AS document, v.row_version, v.created_at, v.updated_at, v.published_at, v.retired_at, v.effective_from, \
             v.effective_to, v.made_from FROM price_book_versions v JOIN price_books b ON b.id = v.book_id WHERE ",
            $which
        )
    };
}

/// Papers; lists leave out what they were made from.
macro_rules! paper {
    ($inputs:literal, $document:literal, $effect:literal, $which:expr) => {
        concat!(
            "SELECT id, job_id, kind, place, number, state, estimate_id, of_paper, ",
            $inputs,
            " AS inputs, ",
            $document,
            " AS document, ",
            $effect,
            " AS effect, decision, decided_at, total_minor, payable_minor, paid_minor, credited_minor, row_version, created_at, \
             created_by, updated_at FROM papers WHERE ",
            $which
        )
    };
}

/// Papers of two kinds of all jobs that a filter lets through, without what they were made from, after a place in the order. The
/// states are one text, `,issued,paid,`.
macro_rules! papers {
    ($after:literal) => {
        paper!(
            "''",
            "''",
            "NULL",
            concat!(
                "kind IN ($1, $2) AND ($3 IS NULL OR $3 LIKE '%,' || state || ',%') AND ($4 IS NULL OR updated_at >= $4) \
                 AND ($8 IS NULL OR number = $8) AND ",
                $after
            )
        )
    };
}

/// Reports of the accounting system.
macro_rules! report {
    ($which:literal) => {
        concat!(
            "SELECT id, job_id, paper_id, kind, system, reference, on_date, amount_minor, category, committed, document, \
             created_at, created_by FROM reports WHERE ",
            $which
        )
    };
}

statements! {
    /// Does the database answer?
    PING = "SELECT 1";
    /// How many migrations have been applied.
    MIGRATIONS_APPLIED = "SELECT COUNT(*) FROM _sqlx_migrations WHERE success = 1";
    /// A value of `meta`.
    META_GET = "SELECT value FROM meta WHERE name = $1";
    /// Sets a value of `meta` once.
    META_PUT = "INSERT INTO meta (name, value) VALUES ($1, $2) ON CONFLICT DO NOTHING";
    /// Writes a value of `meta` that nobody reads, to see whether anything can be written.
    META_TRY = "INSERT INTO meta (name, value) VALUES ('tried', '') ON CONFLICT (name) DO UPDATE SET value = excluded.value";

    /// A key by its public id.
    KEY_GET = "SELECT id, name, secret_hash, scopes, created_at, revoked_at FROM api_keys WHERE id = $1";
    /// Every key, oldest first.
    KEY_LIST = "SELECT id, name, secret_hash, scopes, created_at, revoked_at FROM api_keys ORDER BY created_at, id";
    /// A new key.
    KEY_PUT = "INSERT INTO api_keys (id, name, secret_hash, scopes, created_at, revoked_at) \
               VALUES ($1, $2, $3, $4, $5, NULL)";
    /// Revokes a key.
    KEY_REVOKE = "UPDATE api_keys SET revoked_at = $2 WHERE id = $1 AND revoked_at IS NULL";
    /// Revokes keys of a name, for the demo's fresh key.
    KEY_REVOKE_NAMED = "UPDATE api_keys SET revoked_at = $2 WHERE name = $1 AND revoked_at IS NULL RETURNING id";

    /// A new price book.
    BOOK_PUT = "INSERT INTO price_books (id, name, created_at, updated_at) VALUES ($1, $2, $3, $3)";
    /// A price book.
    BOOK_GET = "SELECT id, name, created_at, updated_at FROM price_books WHERE id = $1";
    /// Price books, oldest first.
    BOOK_LIST = "SELECT id, name, created_at, updated_at FROM price_books \
                 WHERE ($1 IS NULL OR (created_at, id) > ($1, $2)) ORDER BY created_at, id LIMIT $3";
    /// The version with the highest number.
    BOOK_LAST_NUMBER = "SELECT COALESCE(MAX(number), 0) FROM price_book_versions WHERE book_id = $1";
    /// A new version.
    VERSION_PUT = "INSERT INTO price_book_versions \
                   (id, book_id, number, state, document, row_version, created_at, updated_at, published_at, retired_at, made_from) \
                   VALUES ($1, $2, $3, 'draft', $4, 1, $5, $5, NULL, NULL, $6)";
    /// A version with its document.
    VERSION_GET = version!("v.document", "v.id = $1");
    /// Versions of a book, newest first, without their documents.
    VERSION_LIST =
        version!("''", "v.book_id = $1 AND ($2 IS NULL OR v.number < $2) ORDER BY v.number DESC LIMIT $3");
    /// The current version of a day: of the published ones that hold on it a dated one before an undated one, the one that
    /// began last, the one published last.
    VERSION_CURRENT = "SELECT id FROM price_book_versions WHERE state = 'published' \
                       AND (effective_from IS NULL OR (effective_from <= $1 AND (effective_to IS NULL OR $1 < effective_to))) \
                       ORDER BY effective_from IS NULL, effective_from DESC, published_at DESC, id DESC LIMIT 1";
    /// Published versions of a book, without their documents: dated ones in order, then undated ones, last published first.
    VERSION_PUBLISHED = version!(
        "''",
        "v.book_id = $1 AND v.state = 'published' \
         ORDER BY v.effective_from IS NULL, v.effective_from, v.published_at DESC, v.id DESC"
    );
    /// Versions of a book that were ever published, in the same order, without their documents.
    VERSION_EVER_PUBLISHED = version!(
        "''",
        "v.book_id = $1 AND v.published_at IS NOT NULL \
         ORDER BY v.effective_from IS NULL, v.effective_from, v.published_at DESC, v.id DESC"
    );
    /// Drafts of a book above a number, newest first, without their documents.
    VERSION_DRAFTS =
        version!("''", "v.book_id = $1 AND v.state = 'draft' AND v.number > $2 ORDER BY v.number DESC");
    /// A published version that ends on another day.
    VERSION_END = "UPDATE price_book_versions SET effective_to = $3, row_version = row_version + 1, updated_at = $4 \
                   WHERE id = $1 AND row_version = $2 AND state = 'published' AND effective_from IS NOT NULL";
    /// A draft with another document.
    VERSION_EDIT = "UPDATE price_book_versions SET document = $3, row_version = row_version + 1, updated_at = $4 \
                    WHERE id = $1 AND row_version = $2 AND state = 'draft'";
    /// A draft published.
    VERSION_PUBLISH = "UPDATE price_book_versions SET state = 'published', row_version = row_version + 1, \
                       updated_at = $3, published_at = $3, effective_from = $4, effective_to = $5 \
                       WHERE id = $1 AND row_version = $2 AND state = 'draft'";
    /// A version retired.
    VERSION_RETIRE = "UPDATE price_book_versions SET state = 'retired', row_version = row_version + 1, \
                      updated_at = $3, retired_at = $3 WHERE id = $1 AND row_version = $2 AND state <> 'retired'";

    /// A new job.
    JOB_PUT = "INSERT INTO jobs (id, title, customer_name, customer, site_address, site, notes, external_refs, search, \
               row_version, created_at, updated_at, closed_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, 1, $10, $10, \
               CASE WHEN $11 THEN $10 ELSE NULL END)";
    /// A job.
    JOB_GET = job!("j.notes", "j.id = $1");
    /// A job changed.
    JOB_EDIT = "UPDATE jobs SET title = $3, customer_name = $4, customer = $5, site_address = $6, site = $7, notes = $8, \
                external_refs = $9, search = $10, row_version = row_version + 1, updated_at = $11, \
                closed_at = CASE WHEN $12 THEN COALESCE(closed_at, $11) ELSE NULL END \
                WHERE id = $1 AND row_version = $2";
    /// Touches a job that has a new estimate or was accepted.
    JOB_TOUCH = "UPDATE jobs SET updated_at = $2, row_version = row_version + 1 WHERE id = $1";
    /// References dropped before they are set anew.
    JOB_REFS_DROP = "DELETE FROM job_refs WHERE job_id = $1";
    /// A reference.
    JOB_REF_PUT = "INSERT INTO job_refs (system, external_id, job_id) VALUES ($1, $2, $3)";
    /// The job that another system calls so.
    JOB_REF_GET = "SELECT job_id FROM job_refs WHERE system = $1 AND external_id = $2";
    /// Jobs by last change, newest first, without their site notes.
    JOB_LIST_UPDATED_DESC =
        jobs!("($8 IS NULL OR (j.updated_at, j.id) < ($8, $9)) ORDER BY j.updated_at DESC, j.id DESC LIMIT $10");
    /// Jobs by last change, oldest first, without their site notes.
    JOB_LIST_UPDATED = jobs!("($8 IS NULL OR (j.updated_at, j.id) > ($8, $9)) ORDER BY j.updated_at, j.id LIMIT $10");
    /// Jobs by creation, newest first, without their site notes.
    JOB_LIST_CREATED_DESC =
        jobs!("($8 IS NULL OR (j.created_at, j.id) < ($8, $9)) ORDER BY j.created_at DESC, j.id DESC LIMIT $10");
    /// Jobs by creation, oldest first, without their site notes.
    JOB_LIST_CREATED = jobs!("($8 IS NULL OR (j.created_at, j.id) > ($8, $9)) ORDER BY j.created_at, j.id LIMIT $10");
    /// The oldest job of a title, for the demo.
    JOB_BY_TITLE = "SELECT id FROM jobs WHERE title = $1 ORDER BY created_at, id LIMIT 1";

    /// The last revision of a job.
    ESTIMATE_LAST_REVISION = "SELECT COALESCE(MAX(revision), 0) FROM estimates WHERE job_id = $1";
    /// The price-book version of the last revision of a job.
    ESTIMATE_LAST_VERSION = "SELECT price_book_version_id FROM estimates WHERE job_id = $1 ORDER BY revision DESC LIMIT 1";
    /// A new revision.
    ESTIMATE_PUT = "INSERT INTO estimates (id, job_id, revision, price_book_version_id, engine, notes, answer, \
                    total_minor, outcome, created_at, created_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
    /// A revision with everything.
    ESTIMATE_GET = "SELECT id, job_id, revision, price_book_version_id, engine, notes, answer, total_minor, outcome, \
                    created_at, created_by FROM estimates WHERE id = $1";
    /// Revisions of a job, newest first.
    ESTIMATE_LIST = "SELECT id, job_id, revision, price_book_version_id, engine, '' AS notes, '' AS answer, total_minor, \
                     outcome, created_at, created_by FROM estimates WHERE job_id = $1 \
                     AND ($2 IS NULL OR revision < $2) ORDER BY revision DESC LIMIT $3";

    /// Jobs with revisions made from a version: how many, the last of them, and the last of the job.
    VERSION_JOBS = "SELECT j.id, j.title, j.closed_at, COUNT(*) AS revisions, MAX(e.revision) AS last_revision, \
                    (SELECT MAX(l.revision) FROM estimates l WHERE l.job_id = j.id) AS newest_revision \
                    FROM estimates e JOIN jobs j ON j.id = e.job_id WHERE e.price_book_version_id = $1 \
                    AND ($2 IS NULL OR j.id > $2) GROUP BY j.id, j.title, j.closed_at ORDER BY j.id LIMIT $3";
    /// The last revision of each open job, by job.
    OPEN_JOBS_PRICED = "SELECT j.id AS job_id, j.title, e.id, e.revision, e.price_book_version_id, e.engine, e.notes, \
                        e.answer FROM jobs j JOIN estimates e ON e.job_id = j.id \
                        AND e.revision = (SELECT MAX(l.revision) FROM estimates l WHERE l.job_id = j.id) \
                        JOIN price_book_versions v ON v.id = e.price_book_version_id \
                        WHERE j.closed_at IS NULL AND ($1 IS NULL OR v.book_id = $1) AND ($2 IS NULL OR j.id > $2) \
                        ORDER BY j.id LIMIT $3";
    /// How many open jobs have a last revision that was made from another book.
    OPEN_JOBS_OF_OTHER_BOOKS = "SELECT COUNT(*) FROM jobs j JOIN estimates e ON e.job_id = j.id \
                                AND e.revision = (SELECT MAX(l.revision) FROM estimates l WHERE l.job_id = j.id) \
                                JOIN price_book_versions v ON v.id = e.price_book_version_id \
                                WHERE j.closed_at IS NULL AND v.book_id <> $1";
    /// The last revision of a job with what it was computed from.
    JOB_PRICED = "SELECT j.id AS job_id, j.title, e.id, e.revision, e.price_book_version_id, e.engine, e.notes, e.answer \
                  FROM jobs j JOIN estimates e ON e.job_id = j.id WHERE j.id = $1 ORDER BY e.revision DESC LIMIT 1";

    /// A new rain table.
    RAIN_PUT = "INSERT INTO rain_tables (code, name, document, source_text, created_at, created_by) \
                VALUES ($1, $2, $3, $4, $5, $6)";
    /// A rain table.
    RAIN_GET = "SELECT code, name, document, created_at, created_by FROM rain_tables WHERE code = $1";
    /// Rain tables, oldest first.
    RAIN_LIST = "SELECT code, name, document, created_at, created_by FROM rain_tables \
                 WHERE ($1 IS NULL OR (created_at, code) > ($1, $2)) ORDER BY created_at, code LIMIT $3";

    /// The next number of a kind.
    NUMBER_NEXT = "INSERT INTO numbers (kind, last) VALUES ($1, 1) \
                   ON CONFLICT (kind) DO UPDATE SET last = numbers.last + 1 RETURNING last";
    /// The last place in a job.
    PAPER_LAST_PLACE = "SELECT COALESCE(MAX(place), 0) FROM papers WHERE job_id = $1";
    /// A new paper.
    PAPER_PUT = "INSERT INTO papers (id, job_id, kind, place, number, state, estimate_id, of_paper, inputs, document, effect, \
                 decision, decided_at, total_minor, payable_minor, paid_minor, credited_minor, row_version, created_at, \
                 created_by, updated_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, NULL, NULL, $12, $13, 0, 0, \
                 1, $14, $15, $14)";
    /// A paper.
    PAPER_GET = paper!("inputs", "document", "effect", "id = $1");
    /// Papers of a job, oldest first.
    PAPER_OF_JOB = paper!("inputs", "document", "effect", "job_id = $1 ORDER BY place");
    /// Papers of a job of two kinds, newest first, without what they were made from.
    PAPER_LIST = paper!(
        "''",
        "''",
        "NULL",
        "job_id = $1 AND kind IN ($2, $3) AND ($4 IS NULL OR place < $4) AND ($6 IS NULL OR number = $6) \
         ORDER BY place DESC LIMIT $5"
    );
    /// Papers of two kinds of all jobs by last change, newest first, without what they were made from.
    PAPER_LIST_UPDATED_DESC =
        papers!("($5 IS NULL OR (updated_at, id) < ($5, $6)) ORDER BY updated_at DESC, id DESC LIMIT $7");
    /// Papers of two kinds of all jobs by last change, oldest first, without what they were made from.
    PAPER_LIST_UPDATED = papers!("($5 IS NULL OR (updated_at, id) > ($5, $6)) ORDER BY updated_at, id LIMIT $7");
    /// A draft written anew, or issued.
    PAPER_WRITE = "UPDATE papers SET number = $3, state = $4, estimate_id = $5, inputs = $6, document = $7, effect = $8, \
                   total_minor = $9, row_version = row_version + 1, updated_at = $10 \
                   WHERE id = $1 AND row_version = $2 AND state = 'draft'";
    /// A decision about a paper.
    PAPER_DECIDE = "UPDATE papers SET state = $3, decision = $4, decided_at = $5, effect = COALESCE(effect, $6), \
                    row_version = row_version + 1, updated_at = $5 WHERE id = $1 AND row_version = $2";
    /// What was paid and given back of an invoice.
    PAPER_SETTLE = "UPDATE papers SET state = $3, paid_minor = $4, credited_minor = $5, row_version = row_version + 1, \
                    updated_at = $6 WHERE id = $1 AND row_version = $2";
    /// A report of the accounting system.
    REPORT_PUT = "INSERT INTO reports (id, job_id, paper_id, kind, system, reference, on_date, amount_minor, category, \
                  committed, document, created_at, created_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)";
    /// Reports of a job, oldest first.
    REPORT_OF_JOB = report!("job_id = $1 ORDER BY created_at, id");
    /// Costs of a job by category, spent and ordered apart.
    REPORT_COST_SUMS = "SELECT category, committed, CAST(SUM(amount_minor) AS BIGINT) AS amount_minor FROM reports \
                        WHERE job_id = $1 AND kind = 'cost' GROUP BY category, committed";
    /// Reports of a job of one kind, newest first.
    REPORT_LIST = report!(
        "job_id = $1 AND kind = $2 AND ($3 IS NULL OR (created_at, id) < ($3, $4)) ORDER BY created_at DESC, id DESC LIMIT $5"
    );
    /// Payments of an invoice, newest first; its job leads to them by their order.
    PAYMENT_LIST = report!(
        "job_id = $1 AND paper_id = $2 AND kind = 'payment' AND ($3 IS NULL OR (created_at, id) < ($3, $4)) \
         ORDER BY created_at DESC, id DESC LIMIT $5"
    );
    /// What is held under the reference of an accounting system.
    REPORT_HELD = "SELECT r.job_id, r.paper_id, p.number AS paper_number, r.on_date, r.amount_minor, r.category, r.committed \
                   FROM reports r LEFT JOIN papers p ON p.id = r.paper_id \
                   WHERE r.system = $1 AND r.kind = $2 AND r.reference = $3";
    /// Row version of a job's ledger.
    LEDGER_VERSION = "SELECT row_version FROM ledgers WHERE job_id = $1";
    /// The ledger has moved.
    LEDGER_TOUCH = "INSERT INTO ledgers (job_id, row_version) VALUES ($1, 2) \
                    ON CONFLICT (job_id) DO UPDATE SET row_version = ledgers.row_version + 1";

    /// A new plan.
    PLAN_PUT = "INSERT INTO plans (id, job_id, created_at) VALUES ($1, $2, $3)";
    /// The plan of a job.
    PLAN_OF_JOB = "SELECT id FROM plans WHERE job_id = $1";
    /// A new version of a plan.
    PLAN_VERSION_PUT = "INSERT INTO plan_versions (plan_id, number, version, estimate_id, inputs, answer, issued, changes, \
                        created_at, created_by) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)";
    /// The newest version of a plan.
    PLAN_LATEST = "SELECT v.plan_id, p.job_id, v.number, v.version, v.estimate_id, v.inputs, v.answer, v.issued, v.changes, \
                   v.created_at, v.created_by FROM plan_versions v JOIN plans p ON p.id = v.plan_id \
                   WHERE v.plan_id = $1 ORDER BY v.number DESC LIMIT 1";
    /// Versions of a plan, newest first.
    PLAN_VERSION_LIST = "SELECT v.plan_id, p.job_id, v.number, v.version, v.estimate_id, v.inputs, '' AS answer, '' AS issued, \
                         v.changes, v.created_at, v.created_by FROM plan_versions v JOIN plans p ON p.id = v.plan_id \
                         WHERE v.plan_id = $1 AND ($2 IS NULL OR v.number < $2) ORDER BY v.number DESC LIMIT $3";

    /// A job accepted.
    ACCEPTANCE_PUT = "INSERT INTO acceptances (job_id, estimate_id, accepted_on, source, created_at, created_by) \
                      VALUES ($1, $2, $3, $4, $5, $6)";
    /// A mark in place of another.
    ACCEPTANCE_MOVE = "UPDATE acceptances SET estimate_id = $2, accepted_on = $3, source = $4, created_at = $5, \
                       created_by = $6 WHERE job_id = $1";
    /// The acceptance of a job.
    ACCEPTANCE_GET = "SELECT job_id, estimate_id, accepted_on, source, created_at, created_by FROM acceptances \
                      WHERE job_id = $1";
    /// The last number of a job's records.
    ACTUAL_LAST_NUMBER = "SELECT COALESCE(MAX(number), 0) FROM actuals WHERE job_id = $1";
    /// A new record.
    ACTUAL_PUT = "INSERT INTO actuals (id, job_id, number, kind, day, document, corrects, recorded_at, recorded_by) \
                  VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)";
    /// Records of a job, oldest first.
    ACTUAL_LIST = "SELECT id, job_id, number, kind, day, document, corrects, recorded_at, recorded_by FROM actuals \
                   WHERE job_id = $1 AND ($2 IS NULL OR number > $2) ORDER BY number LIMIT $3";
    /// Jobs with a record of their end, newest record first.
    ACTUAL_FINISHED_JOBS = "SELECT job_id FROM actuals WHERE kind = 'finished' GROUP BY job_id \
                            ORDER BY MAX(recorded_at) DESC, job_id LIMIT $1";
    /// A new set of proposed rates.
    PROPOSAL_PUT = "INSERT INTO rate_proposals (id, book_id, document, created_at, created_by) VALUES ($1, $2, $3, $4, $5)";
    /// A set of proposed rates.
    PROPOSAL_GET = "SELECT id, book_id, document, created_at, created_by FROM rate_proposals WHERE id = $1";
    /// All sets of proposed rates of a book, oldest first.
    PROPOSAL_LIST = "SELECT id, book_id, document, created_at, created_by FROM rate_proposals WHERE book_id = $1 \
                     ORDER BY created_at, id";

    /// An audit row.
    AUDIT_PUT = "INSERT INTO audit (at, key_id, request_id, action, object, detail) VALUES ($1, $2, $3, $4, $5, $6)";
    /// Audit rows of an object, newest first.
    AUDIT_LIST = "SELECT id, at, key_id, request_id, action, object, detail FROM audit \
                  WHERE ($1 IS NULL OR object = $1) AND ($2 IS NULL OR id < $2) ORDER BY id DESC LIMIT $3";

    /// A kept answer.
    IDEMPOTENCY_GET = "SELECT fingerprint, status, location, etag, body FROM idempotency \
                       WHERE key_id = $1 AND idem_key = $2 AND created_at > $3";
    /// An answer dropped because it is too old.
    IDEMPOTENCY_EXPIRE = "DELETE FROM idempotency WHERE created_at <= $1";
    /// An answer kept.
    IDEMPOTENCY_PUT = "INSERT INTO idempotency (key_id, idem_key, fingerprint, status, location, etag, body, created_at) \
                       VALUES ($1, $2, $3, $4, $5, $6, $7, $8)";
}
