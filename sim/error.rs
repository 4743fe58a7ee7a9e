//! Every way a run can fail, with the file, line, field or instant in the message.

/// The one error type of the crate.
#[derive(Debug, Clone, thiserror::Error)]
pub enum SimError {
    /// A value outside its allowed range; NaN and infinities are outside every range.
    #[error("{field}: {value} is outside the allowed range {allowed}")]
    OutOfRange {
        /// Dotted path of the field, as written in the file or on the command line.
        field: String,
        /// The value found.
        value: String,
        /// The allowed range in words.
        allowed: String,
    },
    /// Fields that contradict each other, or one that is missing.
    #[error("{field}: {why}")]
    Inconsistent {
        /// Dotted path of the field.
        field: String,
        /// What is wrong and what is wanted.
        why: String,
    },
    /// Any of the above, found in a file.
    #[error("{file}{}: {cause}", line.map_or(String::new(), |l| format!(", line {l}")))]
    InFile {
        /// File as the user named it, or `built-in` and the name.
        file: String,
        /// Line, counted from 1, where known.
        line: Option<u64>,
        /// What is wrong there.
        cause: Box<SimError>,
    },
    /// A file that cannot be parsed.
    #[error("{0}")]
    Syntax(String),
    /// A file that cannot be read or written.
    #[error("{path}: {why}")]
    File {
        /// The path.
        path: String,
        /// The reason, from the operating system or ours.
        why: String,
    },
    /// A name that is not in the library.
    #[error("no {kind} named '{name}'{}known: {known}", did_you_mean(name, known))]
    Unknown {
        /// Kind of the missing thing: knee, person, scenario, ...
        kind: &'static str,
        /// The given name.
        name: String,
        /// The names there are, between commas.
        known: String,
    },
    /// A request that makes no sense.
    #[error("{0}")]
    Usage(String),
    /// A scenario that cannot be simulated with these inputs; nothing is wrong with the files.
    #[error("cannot run: {0}")]
    CannotRun(String),
    /// The integrator gave up.
    #[error("could not be computed: {phase}, t = {t_s:.6} s: {why}")]
    Integration {
        /// Phase of the motion.
        phase: &'static str,
        /// Instant.
        t_s: f64,
        /// Reason.
        why: String,
    },
    /// The energy balance does not close: the run cannot be trusted.
    #[error(
        "could not be computed: {phase}: energy balance is off by {residual:.3e} of the dissipated energy (limit 1e-6)"
    )]
    EnergyBalance {
        /// Phase of the motion.
        phase: &'static str,
        /// |in − stored − out| / out.
        residual: f64,
    },
    /// A result that no leg has: the model does not hold for these inputs.
    #[error(
        "could not be computed: {phase}: {what} of {value:.0}{unit} is more than any leg has (at most {most:.0}{unit})"
    )]
    BeyondBounds {
        /// Phase of the motion.
        phase: &'static str,
        /// The quantity.
        what: &'static str,
        /// Its greatest value.
        value: f64,
        /// The bound.
        most: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// Nobody waits for the result any more.
    #[error("stopped: this took longer than it may")]
    Stopped,
    /// The foot would have to be pulled down: the engine assumes that it stays on the ground.
    #[error("{phase}, t = {t_s:.4} s: the foot would lift off (ground load {load_bw:.3} of body weight)")]
    FootLifts {
        /// Phase of the motion.
        phase: &'static str,
        /// Instant.
        t_s: f64,
        /// Ground load there, share of body weight.
        load_bw: f64,
    },
}

impl SimError {
    /// Why one case gives no result, in a few words; none for an error of the inputs, which concerns them all.
    #[must_use]
    pub fn no_result_because(&self) -> Option<&'static str> {
        match self {
            Self::FootLifts { .. } => Some("the foot would leave the ground"),
            Self::CannotRun(_) => Some("the scenario cannot run"),
            Self::Integration { .. } => Some("the integration gave up"),
            Self::EnergyBalance { .. } => Some("the energy balance did not close"),
            Self::BeyondBounds { .. } => Some("a result is more than any leg has"),
            _ => None,
        }
    }

    /// A finding about one case: it cannot be simulated with these inputs, the integrator gave up on it, or no leg could do it. It stands
    /// where the result would be, never counts as within limits, and ends no other case.
    #[must_use]
    pub fn is_finding(&self) -> bool {
        self.no_result_because().is_some()
    }

    /// What stands in a table where the verdict would be.
    #[must_use]
    pub fn in_place_of_verdict(&self) -> &'static str {
        if self.cannot_run() { "cannot run" } else { "could not be computed" }
    }

    /// The case makes no sense with these inputs, as opposed to a computation that gave no result.
    #[must_use]
    pub fn cannot_run(&self) -> bool {
        !matches!(self, Self::Integration { .. } | Self::EnergyBalance { .. } | Self::BeyondBounds { .. })
    }

    /// Separates findings, which become values, from all other errors.
    ///
    /// # Errors
    /// One that is no finding.
    ///
    /// ```
    /// use kneedamp::SimError;
    /// let locked: Result<(), _> = Err(SimError::CannotRun("the joint is locked".into()));
    /// assert!(SimError::finding(locked).unwrap().is_err());
    /// let wrong: Result<(), _> = Err(SimError::Usage("no such thing".into()));
    /// assert!(SimError::finding(wrong).is_err());
    /// ```
    pub fn finding<T>(result: Result<T, Self>) -> Result<Result<T, Self>, Self> {
        match result {
            Err(e) if !e.is_finding() => Err(e),
            finding => Ok(finding),
        }
    }

    /// The same error about a field further inside: `swing` + `a` gives `swing.a`.
    #[must_use]
    pub fn inside(self, outer: &str) -> Self {
        let join = |field: String| if field.is_empty() { outer.into() } else { format!("{outer}.{field}") };
        match self {
            Self::OutOfRange { field, value, allowed } => {
                Self::OutOfRange { field: join(field), value, allowed }
            }
            Self::Inconsistent { field, why } => Self::Inconsistent { field: join(field), why },
            other => other,
        }
    }

    /// The dotted field path, where the error is about a field.
    #[must_use]
    pub fn field(&self) -> Option<&str> {
        match self {
            Self::OutOfRange { field, .. } | Self::Inconsistent { field, .. } => Some(field),
            _ => None,
        }
    }
}

/// `; `, or `; did you mean '…'? ` with the known name that is nearest, if it differs by a slip: at most two letters, and a third
/// of a short name. \[J\]
fn did_you_mean(name: &str, known: &str) -> String {
    let slips = |k: &str| strsim::osa_distance(&name.to_lowercase(), &k.to_lowercase());
    let near = known.split(", ").map(|k| (slips(k), k)).min_by_key(|(slips, _)| *slips);
    let most = 2.min(name.chars().count().div_ceil(3));
    match near {
        Some((slips, k)) if slips <= most => format!("; did you mean '{k}'? "),
        _ => "; ".to_owned(),
    }
}
