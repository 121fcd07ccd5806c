-- What is final stays so, whatever writes to the file.

-- A published version is no draft again: its document could be changed then. A retired one stays retired.
CREATE TRIGGER price_book_versions_never_drafts_again BEFORE UPDATE OF state ON price_book_versions
WHEN (OLD.state <> 'draft' AND NEW.state = 'draft') OR (OLD.state = 'retired' AND NEW.state <> 'retired')
BEGIN
    SELECT RAISE(ABORT, 'a published price-book version is no draft again, and a retired one stays retired');
END;
CREATE TRIGGER price_book_versions_named BEFORE UPDATE ON price_book_versions
WHEN OLD.state <> 'draft' AND (NEW.id <> OLD.id OR NEW.book_id <> OLD.book_id OR NEW.number <> OLD.number
    OR NEW.published_at IS NOT OLD.published_at OR NEW.created_at <> OLD.created_at
    OR (OLD.retired_at IS NOT NULL AND NEW.retired_at IS NOT OLD.retired_at))
BEGIN
    SELECT RAISE(ABORT, 'a published price-book version keeps its book, number and instants');
END;
CREATE TRIGGER price_book_versions_never_go BEFORE DELETE ON price_book_versions
WHEN OLD.state <> 'draft'
BEGIN
    SELECT RAISE(ABORT, 'a published price-book version cannot be deleted');
END;

-- What an issued paper was made from and stands on; a paper that was declined or ran out can only be superseded.
CREATE TRIGGER papers_anchored BEFORE UPDATE ON papers
WHEN OLD.state <> 'draft' AND (NEW.id <> OLD.id OR NEW.place <> OLD.place OR NEW.estimate_id IS NOT OLD.estimate_id
    OR NEW.of_paper IS NOT OLD.of_paper OR NEW.created_at <> OLD.created_at OR NEW.created_by <> OLD.created_by)
BEGIN
    SELECT RAISE(ABORT, 'an issued paper keeps its place and what it stands on');
END;
CREATE TRIGGER papers_refused BEFORE UPDATE OF state ON papers
WHEN OLD.state IN ('declined', 'expired') AND NEW.state NOT IN (OLD.state, 'superseded')
BEGIN
    SELECT RAISE(ABORT, 'a paper that was declined or expired can only be superseded');
END;

-- A mark set by hand gives way to an accepted quote; the quote's stays.
CREATE TRIGGER acceptances_final BEFORE UPDATE ON acceptances
WHEN OLD.source <> 'mark' OR NEW.source = 'mark' OR NEW.job_id <> OLD.job_id
BEGIN
    SELECT RAISE(ABORT, 'the acceptance of a job cannot change');
END;
CREATE TRIGGER acceptances_never_go BEFORE DELETE ON acceptances
BEGIN
    SELECT RAISE(ABORT, 'the acceptance of a job cannot be deleted');
END;

CREATE TRIGGER plans_never_change BEFORE UPDATE ON plans
BEGIN
    SELECT RAISE(ABORT, 'a plan stays with its job');
END;
CREATE TRIGGER plans_never_go BEFORE DELETE ON plans
BEGIN
    SELECT RAISE(ABORT, 'a plan cannot be deleted');
END;

CREATE TRIGGER rate_proposals_never_change BEFORE UPDATE ON rate_proposals
BEGIN
    SELECT RAISE(ABORT, 'proposed rates cannot change');
END;
CREATE TRIGGER rate_proposals_never_go BEFORE DELETE ON rate_proposals
BEGIN
    SELECT RAISE(ABORT, 'proposed rates cannot be deleted');
END;
