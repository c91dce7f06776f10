//! How well are melodies foreseen that were not learnt from? `measure_reading CORPUS` prints one number a line, for
//! `reference/check_reading.py`, which says what they are held against.
//!
//! CORPUS is a folder with `airdsAirs`, `oneills1850`, `ryansMammoth` (tune books in ABC), `bach` (chorales) and
//! `essenFolksong` (measured only). Everything is computed here and now from the tune books; the shipped table is only asked
//! where a line says so.

mod books;

use books::{Book, Tune, learnt, read, weights_of};
use load::reading::{Item, ItemBits, LongTerm, Melody, Pruning, Settings, Terms, Trainer, bits};
use std::collections::BTreeSet;
use std::io::Write;
use std::path::Path;

/// Folds of the cross-validation.
const FOLDS: usize = 10;
/// Tunes of a book that are shuffled and repeated.
const TUNES: usize = 400;
/// A few hundred melodies are too few to leave anything out.
const ALL: Pruning = Pruning {
    contexts: [1; 6],
    once_from: usize::MAX,
};

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    let corpus = std::env::args()
        .nth(1)
        .ok_or_else(|| std::io::Error::other("measure_reading CORPUS"))?;
    let book = |name: &str, folder: &str, ends: &str| read(name, &Path::new(&corpus).join(folder), ends);
    let books = [
        book("aird", "airdsAirs", ".abc")?,
        book("oneill", "oneills1850", ".abc")?,
        book("ryan", "ryansMammoth", ".abc")?,
    ];
    for left_out in &books {
        let others: Vec<&Book> = books.iter().filter(|book| book.name != left_out.name).collect();
        of_book(&mut out, left_out, &learnt(&others))?;
    }
    chorales(&mut out, &sopranos(book("bach", "bach", ".mxl")?))?;
    essen(&mut out, &book("essen", "essenFolksong", ".abc")?)
}

/// Bits of some melodies.
#[derive(Default)]
struct Sum {
    pitch: f64,
    notes: usize,
    rhythm: f64,
    values: usize,
}

impl Sum {
    fn add(&mut self, melody: &Melody, long: &LongTerm, settings: &Settings) {
        for bits in bits(melody, long, settings) {
            self.rhythm += bits.rhythm;
            self.values += 1;
            if let Some(pitch) = bits.pitch {
                self.pitch += pitch;
                self.notes += 1;
            }
        }
    }

    fn say(&self, out: &mut impl Write, name: &str) -> std::io::Result<()> {
        writeln!(out, "{name}.notes {}", self.notes)?;
        writeln!(out, "{name}.pitch {:.3}", self.pitch / count(self.notes))?;
        writeln!(out, "{name}.rhythm {:.3}", self.rhythm / count(self.values))
    }
}

#[expect(clippy::cast_precision_loss, reason = "some hundred thousand notes")]
fn count(n: usize) -> f64 {
    n.max(1) as f64
}

/// One melody each: the sopranos, no two of them alike (Bach set one hymn tune many times). Alike are melodies that have more
/// than a third of their figures of six intervals in common, whatever their key.
fn sopranos(book: Book) -> Vec<Tune> {
    let mut known: Vec<BTreeSet<Vec<i32>>> = Vec::new();
    let mut tunes: Vec<Tune> = book.tunes.into_iter().filter(is_soprano).collect();
    tunes.retain(|tune| {
        let numbers = notes(&tune.melody);
        let figures: BTreeSet<Vec<i32>> = numbers.windows(7).map(intervals).collect();
        let alike = |other: &BTreeSet<Vec<i32>>| {
            let both = figures.intersection(other).count();
            both * 3 > figures.len().min(other.len())
        };
        let new = !known.iter().any(alike);
        known.push(figures);
        new
    });
    tunes
}

fn intervals(numbers: &[i32]) -> Vec<i32> {
    numbers.windows(2).map(|two| two[1] - two[0]).collect()
}

/// True for the soprano of a choir, and for the first of four parts that have no names of voices.
fn is_soprano(tune: &Tune) -> bool {
    let name = tune
        .piece
        .parts
        .get(tune.part)
        .map(|part| part.name.to_lowercase());
    tune.piece.parts.len() == 4 || name.is_some_and(|name| name.starts_with("soprano"))
}

fn notes(melody: &Melody) -> Vec<i32> {
    melody
        .items
        .iter()
        .filter_map(Item::sounding)
        .map(|note| note.number)
        .collect()
}

/// Ten-fold: each tenth with counts of the other nine, and with weights fitted on those nine alone.
fn chorales(out: &mut impl Write, tunes: &[Tune]) -> std::io::Result<()> {
    // As in the published work the alphabet is what the set uses.
    let ranges = || tunes.iter().filter_map(|tune| tune.melody.range());
    let range = ranges()
        .map(|range| range.0)
        .min()
        .zip(ranges().map(|range| range.1).max());
    writeln!(out, "chorales.melodies {}", tunes.len())?;
    writeln!(
        out,
        "chorales.pitches {}",
        range.map_or(0, |(low, high)| high - low + 1)
    )?;
    let tables: Vec<LongTerm> = (0..FOLDS).map(|fold| without(tunes, fold)).collect();
    for (name, terms) in [
        ("both", Terms::Both),
        ("long", Terms::Long),
        ("short", Terms::Short),
    ] {
        let settings = Settings {
            terms,
            range,
            ..Settings::default()
        };
        let mut sum = Sum::default();
        for (fold, table) in tables.iter().enumerate() {
            for tune in tunes.iter().skip(fold).step_by(FOLDS) {
                sum.add(&tune.melody, table, &settings);
            }
        }
        sum.say(out, &format!("chorales.tenfold.{name}"))?;
    }
    let mut sum = Sum::default();
    let settings = Settings {
        range,
        ..Settings::default()
    };
    for tune in tunes {
        sum.add(&tune.melody, &LongTerm::shipped(), &settings);
    }
    sum.say(out, "chorales.shipped")
}

/// What the tunes outside a fold teach.
fn without(tunes: &[Tune], fold: usize) -> LongTerm {
    let others = tunes.iter().enumerate().filter(|(at, _)| at % FOLDS != fold);
    let melodies: Vec<&Melody> = others.map(|(_, tune)| &tune.melody).collect();
    let mut trainer = Trainer::default();
    for melody in &melodies {
        trainer.add(melody);
    }
    trainer
        .table(&ALL)
        .weighted(&weights_of(&melodies, &ALL, LongTerm::shipped().weights()))
}

/// A tenth of the songs, by the shipped table (which learnt none) and by the other nine tenths.
fn essen(out: &mut impl Write, book: &Book) -> std::io::Result<()> {
    let shipped = LongTerm::shipped();
    let own = without(&book.tunes, 0);
    for (name, table) in [("essen.shipped", &shipped), ("essen.tenth", &own)] {
        let mut sum = Sum::default();
        for tune in book.tunes.iter().step_by(FOLDS) {
            sum.add(&tune.melody, table, &Settings::default());
        }
        sum.say(out, name)?;
    }
    Ok(())
}

/// A book that the table hasn't seen: its bits, its tunes with notes shuffled, with a bar written twice, with bars that return.
fn of_book(out: &mut impl Write, book: &Book, table: &LongTerm) -> std::io::Result<()> {
    let settings = Settings::default();
    let every = book.tunes.len().div_ceil(TUNES).max(1);
    let (mut sum, mut shuffled, mut twice, mut returns) = (
        Sum::default(),
        Share::default(),
        Share::default(),
        Share::default(),
    );
    for (seed, tune) in book.tunes.iter().step_by(every).enumerate() {
        let mut random = Random(u64::try_from(seed).unwrap_or_default());
        let read = bits(&tune.melody, table, &settings);
        sum.add(&tune.melody, table, &settings);
        let other = bits(&with_notes_shuffled(&tune.melody, &mut random), table, &settings);
        shuffled.add(whole(&read), whole(&other));
        if let Some((melody, bar)) = with_a_bar_twice(&tune.melody, &mut random) {
            let read = bits(&melody, table, &settings);
            twice.add(of_bar(&melody, &read, bar + 1), of_bar(&melody, &read, bar));
        }
        if let Some((first, again)) = returning(&tune.melody, &read) {
            returns.add(again, first);
        }
    }
    sum.say(out, &format!("{}.left_out", book.name))?;
    shuffled.say(out, &format!("{}.shuffled", book.name))?;
    twice.say(out, &format!("{}.bar_twice", book.name))?;
    returns.say(out, &format!("{}.returning", book.name))
}

/// In how many cases the first is the less.
#[derive(Default)]
struct Share {
    less: usize,
    of: usize,
    little: f64,
    much: f64,
}

impl Share {
    fn add(&mut self, little: f64, much: f64) {
        self.less += usize::from(little < much);
        self.of += 1;
        self.little += little;
        self.much += much;
    }

    fn say(&self, out: &mut impl Write, name: &str) -> std::io::Result<()> {
        writeln!(out, "{name}.of {}", self.of)?;
        writeln!(out, "{name}.share {:.4}", count(self.less) / count(self.of))?;
        writeln!(out, "{name}.ratio {:.3}", self.little / self.much)
    }
}

fn whole(read: &[ItemBits]) -> f64 {
    read.iter()
        .map(|bits| bits.rhythm + bits.pitch.unwrap_or_default())
        .sum()
}

fn of_bar(melody: &Melody, read: &[ItemBits], bar: u32) -> f64 {
    let items = melody.items.iter().zip(read);
    items
        .filter(|(item, _)| item.place.bar.0 == bar)
        .map(|(_, bits)| bits.rhythm + bits.pitch.unwrap_or_default())
        .sum()
}

/// The same rhythm, the same notes, in another order.
fn with_notes_shuffled(melody: &Melody, random: &mut Random) -> Melody {
    let mut shuffled = melody.clone();
    let places: Vec<usize> = (0..melody.items.len())
        .filter(|at| melody.items[*at].sounding().is_some())
        .collect();
    for last in (1..places.len()).rev() {
        let other = random.below(last + 1);
        let kind = shuffled.items[places[last]].kind;
        shuffled.items[places[last]].kind = shuffled.items[places[other]].kind;
        shuffled.items[places[other]].kind = kind;
    }
    shuffled
}

/// What a bar holds: where, how long, which note.
fn content(melody: &Melody, bar: u32) -> Vec<(notation::Quarters, notation::Quarters, Option<i32>)> {
    let items = melody.items.iter().filter(|item| item.place.bar.0 == bar);
    items
        .map(|item| {
            (
                item.position,
                item.length,
                item.sounding().map(|note| note.number),
            )
        })
        .collect()
}

fn bars(melody: &Melody) -> u32 {
    melody.items.last().map_or(0, |item| item.place.bar.0 + 1)
}

/// True if a bar is full, and no note is held into or out of it: it can stand twice.
fn stands_alone(
    content: &[(notation::Quarters, notation::Quarters, Option<i32>)],
    full: notation::Quarters,
) -> bool {
    let length = content
        .iter()
        .fold(notation::Quarters::ZERO, |sum, item| sum + item.1);
    let notes = content.iter().filter(|item| item.2.is_some()).count();
    notes >= 2 && length == full && content.first().is_some_and(|item| item.0.is_zero())
}

/// The melody with one of its bars, new when it comes, written out twice; and which.
fn with_a_bar_twice(melody: &Melody, random: &mut Random) -> Option<(Melody, u32)> {
    let mut known = BTreeSet::new();
    let mut candidates = Vec::new();
    for bar in 0..bars(melody) {
        let content = content(melody, bar);
        let full = melody
            .items
            .iter()
            .find(|item| item.place.bar.0 == bar)
            .map(|item| item.full);
        let alone = full.is_some_and(|full| stands_alone(&content, full));
        if known.insert(content) && alone && bar > 0 {
            candidates.push(bar);
        }
    }
    let bar = *candidates.get(random.below(candidates.len().max(1)))?;
    let mut items = Vec::new();
    for copy in [false, true] {
        for item in melody.items.iter().filter(|item| {
            let of = item.place.bar.0;
            if copy { of >= bar } else { of <= bar }
        }) {
            let mut item = item.clone();
            item.place.bar.0 += u32::from(copy);
            items.push(item);
        }
    }
    Some((Melody { items }, bar))
}

/// Bits of the bars that return in a tune, the first time and when they first return.
fn returning(melody: &Melody, read: &[ItemBits]) -> Option<(f64, f64)> {
    let mut first: Vec<(Vec<_>, u32, bool)> = Vec::new();
    let (mut before, mut again) = (0.0, 0.0);
    for bar in 0..bars(melody) {
        let content = content(melody, bar);
        if content.iter().filter(|item| item.2.is_some()).count() < 2 {
            continue;
        }
        match first.iter_mut().find(|known| known.0 == content) {
            Some((_, earlier, returned @ false)) => {
                *returned = true;
                before += of_bar(melody, read, *earlier);
                again += of_bar(melody, read, bar);
            }
            Some(_) => {}
            None => first.push((content, bar, false)),
        }
    }
    (before > 0.0).then_some((before, again))
}

/// The same numbers every time. Source: xorshift* of S. Vigna, "An experimental exploration of Marsaglia's xorshift
/// generators, scrambled" (2016).
struct Random(u64);

impl Random {
    fn below(&mut self, most: usize) -> usize {
        let mut state = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        state ^= state >> 12;
        state ^= state << 25;
        state ^= state >> 27;
        self.0 = state;
        let mixed = state.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33;
        usize::try_from(mixed).unwrap_or_default() % most.max(1)
    }
}
