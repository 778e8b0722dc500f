//! The jobs of a service, in one file of SQLite.

use std::path::Path;

use rusqlite::{Connection, OptionalExtension, params};
use serde_json::Value;
use truebed::{Budget, Job, next_pass_of_outcome};

/// What went wrong: a document, or the file.
pub type Problem = Box<dyn std::error::Error + Send + Sync>;

/// `follows` is the job of the pass before. A job waits for its estimate, then for its visit, and is done once
/// the plan of its visit is stored with it.
const TABLE: &str = "
    CREATE TABLE IF NOT EXISTS job (
        id INTEGER PRIMARY KEY,
        follows INTEGER UNIQUE REFERENCES job (id),
        state TEXT NOT NULL CHECK (state IN ('to estimate', 'to visit', 'done')),
        document TEXT NOT NULL
    ) STRICT";

/// Jobs in a file. Any number of services may have it open at once.
pub struct Store {
    file: Connection,
}

impl Store {
    /// Opens a file of jobs, and makes it where there is none.
    ///
    /// # Errors
    /// A file that cannot be opened or is none of SQLite.
    pub fn open(path: &Path) -> Result<Self, Problem> {
        let file = Connection::open(path)?;
        file.execute_batch("PRAGMA foreign_keys = ON")?;
        file.execute_batch(TABLE)?;
        Ok(Self { file })
    }

    /// Stores a job that is to be estimated; its number.
    ///
    /// # Errors
    /// A document that is no job, or a job that asks for no estimate.
    pub fn add(&self, document: &str) -> Result<i64, Problem> {
        if Job::from_json(document)?.estimate.is_none() {
            return Err("estimate: got none, expected what is known of the floor".into());
        }
        let add = "INSERT INTO job (state, document) VALUES ('to estimate', ?1)";
        self.file.execute(add, [document])?;
        Ok(self.file.last_insert_rowid())
    }

    /// Estimates the job that has waited the longest, within a budget; its number, or none where no job waits.
    ///
    /// # Errors
    /// What [`Job::run_until`] refuses.
    pub fn estimate_next(&self, budget: &Budget) -> Result<Option<i64>, Problem> {
        let waiting =
            "SELECT id, document FROM job WHERE state = 'to estimate' ORDER BY id LIMIT 1";
        let waiting = self.file.query_row(waiting, [], |row| Ok((row.get(0)?, row.get(1)?)));
        let Some((id, document)) = waiting.optional()? else { return Ok(None) };
        let document: String = document;
        let done = Job::from_json(&document)?.run_until(budget, &|| false)?;
        self.keep(id, ["to estimate", "to visit"], &done.to_json_like(&document))?;
        Ok(Some(id))
    }

    /// Plans the visit of a job from the readings that were taken, as JSON.
    ///
    /// # Errors
    /// A job that is not there or does not wait for its visit; what [`Job::run_until`] refuses.
    pub fn visit(&self, id: i64, readings: &str, budget: &Budget) -> Result<(), Problem> {
        let mut asked: Value = serde_json::from_str(&self.document(id, "to visit")?)?;
        asked["readings"] = serde_json::from_str(readings)?;
        let asked = asked.to_string();
        let done = Job::from_json(&asked)?.run_until(budget, &|| false)?;
        self.keep(id, ["to visit", "done"], &done.to_json_like(&asked))
    }

    /// Stores the next pass of a job that was worked by, with the plan of its readings; its number. It is
    /// made from the outcome that is stored, which is what the crew has worked by.
    ///
    /// # Errors
    /// A job that is not there, is not done or has been followed already; what [`next_pass_of_outcome`] and
    /// [`Job::run_until`] refuse.
    pub fn next_pass(&self, id: i64, readings: &str, budget: &Budget) -> Result<i64, Problem> {
        let asked = next_pass_of_outcome(&self.document(id, "done")?, readings)?;
        let done = Job::from_json(&asked)?.run_until(budget, &|| false)?.to_json_like(&asked);
        let add = "INSERT INTO job (follows, state, document) VALUES (?1, 'done', ?2)";
        self.file.execute(add, params![id, done])?;
        Ok(self.file.last_insert_rowid())
    }

    /// A job as it is stored.
    ///
    /// # Errors
    /// A job that is not there.
    pub fn job(&self, id: i64) -> Result<Job, Problem> {
        let read = "SELECT document FROM job WHERE id = ?1";
        let document: Option<String> =
            self.file.query_row(read, [id], |row| row.get(0)).optional()?;
        Ok(Job::from_json(&document.ok_or_else(|| format!("there is no job {id}"))?)?)
    }

    /// How many jobs wait for their estimate.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn waiting(&self) -> Result<usize, Problem> {
        let count = "SELECT count(*) FROM job WHERE state = 'to estimate'";
        let count: i64 = self.file.query_row(count, [], |row| row.get(0))?;
        Ok(usize::try_from(count)?)
    }

    /// The document of a job in a state.
    fn document(&self, id: i64, state: &str) -> Result<String, Problem> {
        let read = "SELECT document FROM job WHERE id = ?1 AND state = ?2";
        let found = self.file.query_row(read, params![id, state], |row| row.get(0)).optional()?;
        found.ok_or_else(|| format!("there is no job {id} that is {state:?}").into())
    }

    /// Stores what came of a step, unless another service has taken the same step meanwhile: the first stays.
    fn keep(&self, id: i64, [from, to]: [&str; 2], document: &str) -> Result<(), Problem> {
        let keep = "UPDATE job SET state = ?3, document = ?4 WHERE id = ?1 AND state = ?2";
        self.file.execute(keep, params![id, from, to, document])?;
        Ok(())
    }
}
