//! How unexpected is each note and rest? A long-term and a short-term model, several viewpoints each, made one.

use super::alphabets::{Pitches, Values};
use super::long_term::LongTerm;
use super::melody::{Item, Kind, Melody};
use super::mix::{Forecast, Weights, combine, improve};
use super::parallel::There;
use super::ppm::{Alphabet, Contexts, Known, Room, predict};
use super::returning::{Returning, Step};
use super::short_term::ShortTerm;
use super::viewpoints::{LONG_TERM, PITCH, Past, RHYTHM, SHORT_TERM};

/// Numbers fitted on tune books (see `long_term.md`).
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Weight of what was never seen, in the long-term and in the short-term model.
    pub escape: [f64; 2],
    /// How fast the weights of the forecasts follow what comes; 0 keeps them.
    pub learning: f64,
    /// Leaves the short-term or the long-term model out.
    pub terms: Terms,
    /// The pitches that can come; `None`: those from the lowest to the highest of the piece.
    pub range: Option<(i32, i32)>,
}

/// Which models speak.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Terms {
    /// The long-term and the short-term model.
    Both,
    /// Only what tunes in general do.
    Long,
    /// Only what the piece has shown.
    Short,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            escape: [1.0, 1.0],
            learning: 0.003,
            terms: Terms::Both,
            range: None,
        }
    }
}

/// How unexpected an item is, in bits: −log2 of its probability.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct ItemBits {
    /// Its pitch; `None` for a rest.
    pub pitch: Option<f64>,
    /// Its value; bars of rest cost nothing, they are counted.
    pub rhythm: f64,
    /// The earlier item whose return it is, if it is one.
    pub like: Option<usize>,
}

/// A melody being read.
#[derive(Debug)]
pub struct Foresight<'a> {
    long: &'a LongTerm,
    settings: Settings,
    short: ShortTerm,
    past: Past,
    returning: Returning,
    lowest: i32,
    pitches: Vec<f64>,
    values: Values,
    probabilities: Vec<f64>,
    weights: Weights,
    scratch: Scratch,
}

/// Room that is used again for each note.
#[derive(Debug, Default)]
struct Scratch {
    one: Vec<f64>,
    room: Room,
    forecasts: Vec<Forecast>,
    used: usize,
    set: usize,
}

/// Bits of each item of a melody, read from the beginning.
#[must_use]
pub fn bits(melody: &Melody, long: &LongTerm, settings: &Settings) -> Vec<ItemBits> {
    let mut foresight = Foresight::new(melody, long, settings);
    (0..melody.items.len())
        .map(|at| foresight.read(melody, at).unwrap_or_default())
        .collect()
}

impl<'a> Foresight<'a> {
    /// Before the first note.
    #[must_use]
    pub fn new(melody: &Melody, long: &'a LongTerm, settings: &Settings) -> Self {
        let (lowest, highest) = settings.range.or(melody.range()).unwrap_or((60, 60));
        let values = Values::of(melody);
        // No instrument has more keys; a page that claims more is not to take all the time there is.
        let size = usize::try_from(highest - lowest + 1).unwrap_or(1).min(128);
        Self {
            long,
            settings: *settings,
            short: ShortTerm::default(),
            past: Past::before(melody),
            returning: Returning::default(),
            lowest,
            pitches: vec![0.0; size],
            probabilities: vec![0.0; values.count()],
            values,
            weights: long.weights(),
            scratch: Scratch::default(),
        }
    }

    /// What could come next as pitch (from the lowest key up), and as value, when the last item was foreseen: for tests.
    #[must_use]
    pub fn last_forecast(&self) -> (&[f64], &[f64]) {
        (&self.pitches, &self.probabilities)
    }

    /// The weights as they are now.
    #[must_use]
    pub const fn weights(&self) -> &Weights {
        &self.weights
    }

    /// Which weights hold now.
    fn set(&self) -> usize {
        if self.settings.terms == Terms::Long {
            0
        } else {
            self.returning.class()
        }
    }

    /// Foresees an item, then reads it.
    pub fn read(&mut self, melody: &Melody, at: usize) -> Option<ItemBits> {
        let item = melody.items.get(at)?;
        self.past.enter(item);
        if matches!(item.kind, Kind::Bars) {
            let (value, share) = self.values.symbols(item);
            self.past.read_value(item, value, share);
            let interval = None;
            self.returning.read(Step { value, interval });
            return Some(ItemBits::default());
        }
        let contexts = self.past.value_contexts(item);
        self.scratch.start(self.set());
        for (viewpoint, contexts) in contexts.iter().enumerate() {
            let by_share = Past::BY_SHARE.get(viewpoint).copied().unwrap_or(false);
            let letters = self.values.letters(by_share, item.full);
            let models = Models {
                long: self.long,
                short: &self.short,
                settings: &self.settings,
            };
            self.scratch.foresee(
                &models,
                PITCH + viewpoint,
                contexts,
                &letters,
                self.probabilities.len(),
            );
        }
        if self.settings.terms != Terms::Long {
            let letters = self.values.letters(false, item.full);
            let len = self.probabilities.len();
            let returned = self
                .returning
                .expected()
                .and_then(|step| letters.index(step.value));
            self.scratch.again(0, returned, len, Known::at(0, true));
            if let Some((there, agreed)) = self.past.parallel(item) {
                self.scratch
                    .again(1, letters.index(there.value.0), len, Known::at(agreed, true));
            }
        }
        combine(self.scratch.forecasts(), &self.weights, &mut self.probabilities);
        let letter = self.values.letter(item);
        if self.settings.learning > 0.0 {
            let rate = self.settings.learning;
            improve(
                self.scratch.forecasts(),
                &self.probabilities,
                letter,
                rate,
                &mut self.weights,
            );
        }
        let rhythm = bits_of(self.probabilities.get(letter));
        let (value, share) = self.values.symbols(item);
        for (viewpoint, (contexts, by_share)) in contexts.iter().zip(Past::BY_SHARE).enumerate() {
            if SHORT_TERM.get(PITCH + viewpoint) == Some(&true) {
                self.short.learn(contexts, if by_share { share } else { value });
            }
        }
        let parallel = self.past.parallel(item);
        self.past.read_value(item, value, share);
        let interval = item
            .sounding()
            .and_then(|note| self.past.interval_to(note.number));
        let pitch = item
            .sounding()
            .map(|note| self.read_pitch(item, parallel, value, note.number));
        let like = self.returning.read(Step { value, interval });
        Some(ItemBits { pitch, rhythm, like })
    }

    fn read_pitch(&mut self, item: &Item, parallel: Option<(There, usize)>, value: u8, number: i32) -> f64 {
        let contexts = self.past.pitch_contexts(item);
        let shifts = self.past.pitch_shifts(self.lowest);
        let len = self.pitches.len();
        self.scratch.start(self.set());
        let models = Models {
            long: self.long,
            short: &self.short,
            settings: &self.settings,
        };
        for (viewpoint, (contexts, shift)) in contexts.iter().zip(shifts).enumerate() {
            let Some(shift) = shift else { continue };
            let alphabet = Pitches { shift, len };
            self.scratch.foresee(&models, viewpoint, contexts, &alphabet, len);
        }
        if self.settings.terms != Terms::Long {
            let lowest = self.lowest;
            let index = |number: i32| usize::try_from(number - lowest).ok();
            // Another value than the return's is a weaker return.
            let step = self.returning.expected();
            let returned = step
                .and_then(|step| self.past.after(step.interval?))
                .and_then(index);
            let same = step.is_some_and(|step| step.value == value);
            self.scratch.again(2, returned, len, Known::at(0, same));
            if let Some((there, agreed)) = parallel {
                let same = there.value.0 == value;
                self.scratch
                    .again(3, there.number.and_then(index), len, Known::at(agreed, same));
            }
        }
        combine(self.scratch.forecasts(), &self.weights, &mut self.pitches);
        let index = usize::try_from(number - self.lowest).unwrap_or(usize::MAX);
        if self.settings.learning > 0.0 {
            let rate = self.settings.learning;
            improve(
                self.scratch.forecasts(),
                &self.pitches,
                index,
                rate,
                &mut self.weights,
            );
        }
        let bits = bits_of(self.pitches.get(index));
        for (contexts, symbol) in contexts.iter().zip(self.past.pitch_symbols(number)) {
            if let Some(symbol) = symbol {
                self.short.learn(contexts, symbol);
            }
        }
        self.past.read_pitch(item, number);
        bits
    }
}

/// −log2 of a probability; what can't come at all costs as much as one in a million million.
fn bits_of(probability: Option<&f64>) -> f64 {
    -probability.copied().unwrap_or(0.0).max(1e-12).log2()
}

impl Scratch {
    fn start(&mut self, set: usize) {
        self.used = 0;
        self.set = set;
    }

    fn forecasts(&self) -> &[Forecast] {
        self.forecasts.get(..self.used).unwrap_or(&[])
    }

    /// The forecasts of one viewpoint: by tunes in general, and by the piece so far.
    fn foresee(
        &mut self,
        models: &Models<'_>,
        viewpoint: usize,
        contexts: &Contexts,
        alphabet: &impl Alphabet,
        len: usize,
    ) {
        self.one.resize(len, 0.0);
        let [escape_long, escape_short] = models.settings.escape;
        if models.settings.terms != Terms::Short
            && LONG_TERM.get(viewpoint) == Some(&true)
            && let Some(known) = predict(
                models.long,
                contexts,
                alphabet,
                escape_long,
                &mut self.room,
                &mut self.one,
            )
        {
            self.add(viewpoint, known);
        }
        if models.settings.terms != Terms::Long
            && SHORT_TERM.get(viewpoint) == Some(&true)
            && let Some(known) = predict(
                models.short,
                contexts,
                alphabet,
                escape_short,
                &mut self.room,
                &mut self.one,
            )
        {
            self.add(PITCH + RHYTHM + viewpoint, known);
        }
    }

    /// The forecast of one thing that was there before: by a model with a number, on certain grounds.
    fn again(&mut self, model: usize, index: Option<usize>, len: usize, known: Known) {
        let Some(index) = index.filter(|index| *index < len) else {
            return;
        };
        // How sure it is, its weight says.
        #[expect(clippy::cast_precision_loss, reason = "some dozens of letters")]
        let other = 0.1 / len.max(2) as f64;
        self.one.clear();
        self.one.resize(len, other);
        if let Some(slot) = self.one.get_mut(index) {
            *slot += 0.9;
        }
        self.add(2 * (PITCH + RHYTHM) + model, known);
    }

    fn add(&mut self, model: usize, known: Known) {
        if self.used == self.forecasts.len() {
            self.forecasts.push(Forecast::default());
        }
        if let Some(forecast) = self.forecasts.get_mut(self.used) {
            forecast.set(&self.one, self.set, model, known);
            self.used += 1;
        }
    }
}

/// The two models and how they are used.
struct Models<'a> {
    long: &'a LongTerm,
    short: &'a ShortTerm,
    settings: &'a Settings,
}
