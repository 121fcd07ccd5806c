-- Papers of all jobs by their last change, and jobs by what another system calls them.
CREATE INDEX papers_by_update ON papers (updated_at, id);
CREATE INDEX job_refs_by_external_id ON job_refs (external_id);
