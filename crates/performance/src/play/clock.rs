//! When is it in seconds? Stretches of even or evenly changing speed, and pauses: exact until this last step.
//!
//! In a gradual change the speed changes evenly in time, as a body slows down under a steady hand: over the score that
//! is v² = v₀² + (v₁² − v₀²)·x. Source: Kronman & Sundberg 1987 and Friberg & Sundberg 1999 on final ritardandi (tempo
//! as a power of score position, exponent 2 for steady braking, about 3 preferred; from memory).

use notation::{Quarters, Rational};

/// A stretch of music between two points, with its speeds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stretch {
    /// From where, in quarter notes from the beginning of the performance.
    pub from: Quarters,
    /// To where; equal to `from` for a pause.
    pub to: Quarters,
    /// Speed at its start, in quarter notes a minute.
    pub start: Rational,
    /// Speed at its end.
    pub end: Rational,
    /// A pause of so many quarter notes at the starting speed, in which the music stands still.
    pub pause: Quarters,
}

impl Stretch {
    /// How long it lasts, in minutes: exact, whatever the change of speed.
    fn minutes(&self) -> f64 {
        let (v0, v1) = (self.start.to_f64(), self.end.to_f64());
        (2.0 * (self.to - self.from).to_f64()) / (v0 + v1) + self.pause.to_f64() / v0
    }

    /// Minutes from its start to a point in it.
    fn minutes_to(&self, at: Quarters) -> f64 {
        let done = (at - self.from).to_f64().max(0.0);
        let whole = (self.to - self.from).to_f64();
        if whole <= 0.0 {
            return 0.0;
        }
        let (v0, v1) = (self.start.to_f64(), self.end.to_f64());
        let now = (v0 * v0 + (v1 * v1 - v0 * v0) * (done / whole).min(1.0)).sqrt();
        2.0 * done / (v0 + now)
    }

    /// Quarter notes done after so many minutes.
    fn quarters_after(&self, minutes: f64) -> f64 {
        let whole = (self.to - self.from).to_f64();
        if whole <= 0.0 {
            return 0.0;
        }
        let (v0, v1) = (self.start.to_f64(), self.end.to_f64());
        let lasts = 2.0 * whole / (v0 + v1);
        let now = v0 + (v1 - v0) * (minutes / lasts).clamp(0.0, 1.0);
        (minutes.clamp(0.0, lasts) * (v0 + now) / 2.0).clamp(0.0, whole)
    }
}

/// Musical time to seconds and back, for one performance.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Clock {
    stretches: Vec<Stretch>,
    /// When each stretch starts, in seconds; one more than stretches.
    starts: Vec<f64>,
}

impl Clock {
    /// A clock of stretches that follow each other without gaps from 0 on. Speeds must be positive.
    #[must_use]
    pub fn new(stretches: Vec<Stretch>) -> Self {
        let mut starts = Vec::with_capacity(stretches.len() + 1);
        let mut now = 0.0;
        starts.push(now);
        for stretch in &stretches {
            now += stretch.minutes() * 60.0;
            starts.push(now);
        }
        Self { stretches, starts }
    }

    /// The stretches in order.
    #[must_use]
    pub fn stretches(&self) -> &[Stretch] {
        &self.stretches
    }

    /// How long everything lasts, in seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.starts.last().copied().unwrap_or(0.0)
    }

    /// When something begins that stands at a point, in seconds: after a pause at that point.
    #[must_use]
    pub fn begins(&self, at: Quarters) -> f64 {
        let index = self.stretches.partition_point(|stretch| stretch.from <= at);
        self.inside(index.saturating_sub(1), at)
    }

    /// When something ends that reaches to a point, in seconds: before a pause at that point.
    #[must_use]
    pub fn ends(&self, at: Quarters) -> f64 {
        let index = self.stretches.partition_point(|stretch| stretch.to < at);
        self.inside(index.min(self.stretches.len().saturating_sub(1)), at)
    }

    fn inside(&self, index: usize, at: Quarters) -> f64 {
        let start = self.starts.get(index).copied().unwrap_or(0.0);
        let Some(stretch) = self.stretches.get(index) else {
            return start;
        };
        start + stretch.minutes_to(at) * 60.0
    }

    /// The musical time at so many seconds, in quarter notes: for a playhead, not for reckoning.
    #[must_use]
    pub fn quarters_at(&self, seconds: f64) -> f64 {
        let index = self.starts.partition_point(|start| *start <= seconds);
        let index = index
            .saturating_sub(1)
            .min(self.stretches.len().saturating_sub(1));
        let Some(stretch) = self.stretches.get(index) else {
            return 0.0;
        };
        let since = seconds - self.starts.get(index).copied().unwrap_or(0.0);
        stretch.from.to_f64() + stretch.quarters_after(since.max(0.0) / 60.0)
    }

    /// Speed at a point, in quarter notes a minute, as the stretch there begins.
    #[must_use]
    pub fn speed(&self, at: Quarters) -> Rational {
        let index = self.stretches.partition_point(|stretch| stretch.from <= at);
        self.stretches
            .get(index.saturating_sub(1))
            .map_or(Rational::whole(60), |stretch| stretch.start)
    }
}
