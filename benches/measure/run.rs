//! What one run came to.

use serde::{Deserialize, Serialize};
use std::path::PathBuf;

/// Which program is solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Model {
    /// What the program does.
    Couplet,
    /// The plain program through the same layer.
    Plain,
}

impl Model {
    /// Its word on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Model::Couplet => "couplet",
            Model::Plain => "plain",
        }
    }

    /// Reads the word.
    pub fn from_word(word: &str) -> Result<Model, String> {
        let all = [Model::Couplet, Model::Plain];
        let found = all.into_iter().find(|m| m.word() == word);
        found.ok_or(format!("{word} is neither couplet nor plain"))
    }
}

/// What to run.
pub struct Job {
    pub model: Model,
    pub project: PathBuf,
    /// Seconds for the search.
    pub limit: u64,
    pub threads: u32,
    pub totals: bool,
}

/// Seconds in each part of a run.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Parts {
    pub reading: f64,
    pub fitting: f64,
    /// Making the programs; of two threads together.
    #[serde(default)]
    pub building: f64,
    pub solving: f64,
    /// Pricing, recording and auditing.
    pub auditing: f64,
}

impl Parts {
    /// All of it.
    pub fn sum(&self) -> f64 {
        self.reading + self.fitting + self.building + self.solving + self.auditing
    }
}

/// What was known at a time.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Point {
    /// Seconds since the run began to read.
    pub at: f64,
    pub best: Option<f64>,
    pub bound: Option<f64>,
}

/// One run.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Run {
    pub size: u64,
    pub seed: u64,
    pub model: Model,
    pub limit: u64,
    /// `optimal`, `time limit`, `no plan`, or what went wrong.
    pub status: String,
    pub total: Option<f64>,
    pub bound: Option<f64>,
    /// Of all search trees.
    #[serde(default)]
    pub nodes: Option<u64>,
    pub parts: Parts,
    /// Largest memory in use, in MB (1e6 bytes); none where the system does not tell.
    pub memory: Option<f64>,
    /// In the order of time.
    pub curve: Vec<Point>,
}

impl Run {
    /// A run of which nothing is known but how it ended.
    pub fn broken(model: Model, limit: u64, status: &str) -> Run {
        Run {
            size: 0,
            seed: 0,
            model,
            limit,
            status: status.to_owned(),
            total: None,
            bound: None,
            nodes: None,
            parts: Parts::default(),
            memory: None,
            curve: Vec::new(),
        }
    }

    /// True where nothing is cheaper.
    pub fn is_proven(&self) -> bool {
        self.status == "optimal"
    }

    /// (total − bound) / total in percent.
    pub fn gap(&self) -> Option<f64> {
        gap(self.total, self.bound)
    }

    /// The gap that was left after so many seconds.
    pub fn gap_at(&self, seconds: f64) -> Option<f64> {
        if self.is_over(seconds) {
            return self.gap();
        }
        let bound = (self.curve.iter().rev()).find(|p| p.at <= seconds && p.bound.is_some());
        gap(self.best_at(seconds), bound.and_then(|p| p.bound))
    }

    /// The least total after so many seconds.
    pub fn best_at(&self, seconds: f64) -> Option<f64> {
        if self.is_over(seconds) {
            return self.total;
        }
        let known = self.curve.iter().filter(|p| p.at <= seconds);
        known.filter_map(|p| p.best).reduce(f64::min)
    }

    fn is_over(&self, seconds: f64) -> bool {
        self.limit as f64 <= seconds || self.parts.sum() <= seconds
    }

    /// When the first plan was there.
    pub fn first_plan(&self) -> Option<f64> {
        let first = self.curve.iter().find(|p| p.best.is_some());
        first.map(|p| p.at).or(self.total.map(|_| self.parts.sum()))
    }
}

fn gap(total: Option<f64>, bound: Option<f64>) -> Option<f64> {
    let (total, bound) = (total?, bound?);
    bound
        .is_finite()
        .then(|| ((total - bound) / total * 100.0).max(0.0))
}
