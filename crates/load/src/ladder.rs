//! How does the tempo climb from the first reading to the marked one? Rungs on the metronome's own marks, by a published scheme.
//!
//! Below sixty the beat stays what it is and the click subdivides, since clicks more than a second apart are hard to
//! keep (common practice). In ¢ the quarter note climbs until the half note can be felt, and the last rung is in halves,
//! unless they are slower than any metronome goes.

use notation::{NoteValue, Quarters, Rational};
use survey::metre::BeatUnit;
use terms::tempo::METRONOME_MARKS;

/// A way to climb.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Scheme {
    /// Every mark once, slow to fast.
    Straight,
    /// Three times slow and once three marks faster, then the same one mark higher.
    UpThreeDownTwo,
    /// Two marks up, one down, ending two marks above the goal.
    UpTwoDownOne,
    /// Three times at half the tempo, once at the whole.
    SlowAndFull,
    /// Every second mark, and two rungs back when stuck.
    EverySecondMark,
}

impl Scheme {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Straight,
        Self::UpThreeDownTwo,
        Self::UpTwoDownOne,
        Self::SlowAndFull,
        Self::EverySecondMark,
    ];

    /// The name in options and JSON.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::UpThreeDownTwo => "up-three-down-two",
            Self::UpTwoDownOne => "up-two-down-one",
            Self::SlowAndFull => "slow-and-full",
            Self::EverySecondMark => "every-second-mark",
        }
    }

    /// The scheme with a name.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|scheme| scheme.id() == id)
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Straight => "every mark, slow to fast",
            Self::UpThreeDownTwo => "three times slow, once three marks faster, then one mark higher",
            Self::UpTwoDownOne => "two marks up, one down, to two marks above the goal",
            Self::SlowAndFull => "three times at half the tempo, once at the whole",
            Self::EverySecondMark => "every second mark; when it sticks, two rungs back",
        }
    }

    /// Where it is published.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::Straight => "common practice",
            Self::UpThreeDownTwo => "leonardgarrison.com/practice-2",
            Self::UpTwoDownOne => "thepracticenotebook.com",
            Self::SlowAndFull => "common practice (maintenance at three to one)",
            Self::EverySecondMark => "a clarinet handbook's worked example to 120",
        }
    }
}

/// What is climbed.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Climb {
    /// The beat that is counted at the goal.
    pub beat: BeatUnit,
    /// The note the click falls back to when the beat is slow.
    pub subdivision: BeatUnit,
    /// First tempo, in beats a minute on [`Climb::beat`].
    pub from: f64,
    /// Goal, in beats a minute on [`Climb::beat`].
    pub to: f64,
    /// True in ¢: the climb is counted in half-beats until the beat can be felt.
    pub in_cut_time: bool,
}

impl Climb {
    /// A climb on a beat, with the usual subdivision: thirds of a dotted beat, halves of another.
    #[must_use]
    pub fn on(beat: BeatUnit, from: f64, to: f64) -> Self {
        let part = if beat.dots == 1 {
            Rational::new(1, 3)
        } else {
            Rational::new(1, 2)
        };
        let subdivision = BeatUnit::of_quarters(beat.quarters() * part).unwrap_or(beat);
        Self {
            beat,
            subdivision,
            from,
            to,
            in_cut_time: false,
        }
    }

    /// A climb in ¢: `from` and `to` in half notes a minute.
    #[must_use]
    pub fn cut_time(from: f64, to: f64) -> Self {
        Self {
            in_cut_time: true,
            ..Self::on(BeatUnit::plain(NoteValue::Half), from, to)
        }
    }
}

/// One rung: a tempo, the click to set, and how often.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rung {
    /// The note that is counted.
    pub beat: BeatUnit,
    /// Such notes a minute, a mark of the metronome.
    pub bpm: u16,
    /// What the metronome clicks.
    pub click: BeatUnit,
    /// Clicks a minute.
    pub click_bpm: u16,
    /// Fewest and most times to play it there.
    pub times: (u8, u8),
}

impl Rung {
    /// As it is pencilled: `♩ = 96`, `♩. = 44 (click ♪ = 132)`.
    #[must_use]
    pub fn says(&self) -> String {
        let beat = format!("{} = {}", self.beat.sign(), self.bpm);
        if self.click == self.beat {
            beat
        } else {
            format!("{beat} (click {} = {})", self.click.sign(), self.click_bpm)
        }
    }
}

/// Rungs from the first tempo to the goal.
#[derive(Clone, PartialEq, Debug)]
pub struct Ladder {
    /// By which scheme.
    pub scheme: Scheme,
    /// The rungs in order; empty if there is no tempo to climb to.
    pub rungs: Vec<Rung>,
    /// What to do when it sticks, and when to stop, a sentence.
    pub advice: &'static str,
}

/// Beats slower than this are clicked in smaller notes. Source: common practice; the examples (52, 44).
const SLOW: u16 = 60;

/// The ladder of a climb by a scheme. A goal no faster than the start gives the one rung of the goal.
#[must_use]
pub fn ladder(climb: &Climb, scheme: Scheme) -> Ladder {
    let marks = Marks::of(climb);
    let rungs = marks
        .by(scheme)
        .into_iter()
        .map(|(at, times)| marks.rung(climb, at, times))
        .collect();
    Ladder {
        scheme,
        rungs,
        advice: advice(scheme),
    }
}

const fn advice(scheme: Scheme) -> &'static str {
    match scheme {
        Scheme::EverySecondMark => {
            "when it sticks, go back two rungs, two or three times, and climb again; stop when it tires"
        }
        Scheme::SlowAndFull => "as often as it stays easy; the slow ones are not to be skipped",
        _ => "go on when it was clean and easy; when it sticks, go back a rung, and stop when it tires",
    }
}

/// What is climbed on: the metronome's marks for the beat, and below its slowest those for the smaller note.
struct Marks {
    /// The first mark, as an index into the series.
    start: usize,
    /// The goal.
    goal: usize,
    /// The note counted and its number, slow to fast.
    series: Vec<(BeatUnit, u16)>,
}

impl Marks {
    fn of(climb: &Climb) -> Self {
        let (unit, smaller, scale) = if climb.in_cut_time {
            (climb.subdivision, half_of(climb.subdivision), 2.0)
        } else {
            (climb.beat, climb.subdivision, 1.0)
        };
        let slowest = METRONOME_MARKS.first().copied().unwrap_or(SLOW);
        // A beat slower than the metronome goes is climbed in the note that it would click anyway.
        let parts = clicks_in(unit.quarters(), smaller.quarters()).map(|parts| (smaller, parts));
        let below = parts.into_iter().flat_map(|(note, parts)| {
            let slower = METRONOME_MARKS
                .iter()
                .filter(move |mark| **mark < slowest * parts);
            slower.map(move |mark| (note, *mark))
        });
        let series: Vec<(BeatUnit, u16)> = below
            .chain(METRONOME_MARKS.iter().map(|mark| (unit, *mark)))
            .collect();
        let speed =
            |(note, mark): &(BeatUnit, u16)| f64::from(*mark) * (note.quarters() / unit.quarters()).to_f64();
        let nearest_to = |bpm: f64| {
            let by = |a: &usize, b: &usize| {
                let away = |at: &usize| {
                    series
                        .get(*at)
                        .map_or(f64::INFINITY, |mark| (speed(mark) - bpm).abs())
                };
                away(a).total_cmp(&away(b)).then(b.cmp(a))
            };
            (0..series.len()).min_by(by).unwrap_or(0)
        };
        let first_of_beat = series.len() - METRONOME_MARKS.len();
        // The goal is a mark of the beat; only the way there may begin below.
        let goal = nearest_to(climb.to * scale).max(first_of_beat);
        Self {
            start: nearest_to(climb.from * scale).min(goal),
            goal,
            series,
        }
    }

    /// Marks in order with fewest and most times.
    fn by(&self, scheme: Scheme) -> Vec<(usize, (u8, u8))> {
        let (start, goal) = (self.start, self.goal);
        if start == goal && scheme != Scheme::SlowAndFull {
            return vec![(goal, (3, 3))];
        }
        match scheme {
            Scheme::Straight => (start..=goal).map(|at| (at, (3, 3))).collect(),
            Scheme::UpThreeDownTwo => (start..goal)
                .flat_map(|at| [(at, (3, 3)), ((at + 3).min(goal), (1, 1))])
                .collect(),
            Scheme::UpTwoDownOne => {
                // Two above the goal, where the metronome has them.
                let end = (goal + 2).min(self.series.len() - 1);
                let mut rungs = vec![(start, (4, 7))];
                let mut at = start;
                while at < end {
                    at = (at + 2).min(end);
                    rungs.push((at, (4, 7)));
                    if at < end {
                        at -= 1;
                        rungs.push((at, (4, 7)));
                    }
                }
                // At the top of the series a step of two can pass the goal by.
                if !rungs.iter().any(|(at, _)| *at == goal) {
                    rungs.insert(1, (goal, (4, 7)));
                }
                rungs
            }
            Scheme::SlowAndFull => {
                vec![(self.half_of_goal(), (3, 3)), (goal, (1, 1))]
            }
            Scheme::EverySecondMark => {
                let mut rungs: Vec<_> = (start..goal).step_by(2).map(|at| (at, (3, 4))).collect();
                rungs.push((goal, (3, 4)));
                rungs
            }
        }
    }

    /// The mark nearest to half the goal.
    fn half_of_goal(&self) -> usize {
        let speed = |at: usize| {
            let mark = self.series.get(at);
            mark.map_or(0.0, |(note, mark)| f64::from(*mark) * note.quarters().to_f64())
        };
        let half = speed(self.goal) / 2.0;
        let by = |a: &usize, b: &usize| {
            let away = |at: &usize| (speed(*at) - half).abs();
            away(a).total_cmp(&away(b)).then(b.cmp(a))
        };
        (0..self.series.len()).min_by(by).unwrap_or(0)
    }

    fn rung(&self, climb: &Climb, at: usize, times: (u8, u8)) -> Rung {
        let last = self.series.len() - 1;
        let (unit, bpm) = self
            .series
            .get(at.min(last))
            .copied()
            .unwrap_or((climb.beat, SLOW));
        if !climb.in_cut_time {
            let smaller = if unit == climb.beat {
                climb.subdivision
            } else {
                half_of(unit)
            };
            return subdivided(unit, bpm, smaller, times);
        }
        // No half note has half a click: 63 and 69 stay quarters, and so does what the series has no halves for.
        let halves = Some(bpm / 2).filter(|halves| {
            unit == climb.subdivision && bpm.is_multiple_of(2) && METRONOME_MARKS.contains(halves)
        });
        if let Some(halves) = halves.filter(|halves| *halves >= SLOW || at >= self.goal) {
            subdivided(climb.beat, halves, climb.subdivision, times)
        } else {
            subdivided(unit, bpm, half_of(unit), times)
        }
    }
}

fn half_of(unit: BeatUnit) -> BeatUnit {
    BeatUnit::of_quarters(unit.quarters() * Rational::new(1, 2)).unwrap_or(unit)
}

/// A rung with its click: the beat itself, or the smaller note below sixty.
fn subdivided(beat: BeatUnit, bpm: u16, smaller: BeatUnit, times: (u8, u8)) -> Rung {
    let parts = clicks_in(beat.quarters(), smaller.quarters()).filter(|_| bpm < SLOW);
    let (click, click_bpm) = parts.map_or((beat, bpm), |parts| (smaller, bpm * parts));
    Rung {
        beat,
        bpm,
        click,
        click_bpm,
        times,
    }
}

/// How many smaller notes make the beat, if they fill it.
fn clicks_in(beat: Quarters, smaller: Quarters) -> Option<u16> {
    let parts = beat / smaller;
    (parts.is_whole() && parts > Rational::ONE)
        .then(|| u16::try_from(parts.num()).ok())
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(climb: Climb, scheme: Scheme) -> Vec<(u16, u8)> {
        ladder(&climb, scheme)
            .rungs
            .iter()
            .map(|rung| (rung.bpm, rung.times.0))
            .collect()
    }

    fn quarters(from: f64, to: f64) -> Climb {
        Climb::on(BeatUnit::QUARTER, from, to)
    }

    /// Source: leonardgarrison.com/practice-2, the sequence from 63 to 126 in full.
    #[test]
    fn up_three_down_two_is_the_published_sequence() {
        let pairs = [
            (63, 72),
            (66, 76),
            (69, 80),
            (72, 84),
            (76, 88),
            (80, 92),
            (84, 96),
            (88, 100),
            (92, 104),
            (96, 108),
            (100, 112),
            (104, 116),
            (108, 120),
            (112, 126),
            (116, 126),
            (120, 126),
        ];
        let published: Vec<(u16, u8)> = pairs
            .into_iter()
            .flat_map(|(slow, fast)| [(slow, 3), (fast, 1)])
            .collect();
        assert_eq!(said(quarters(63.0, 126.0), Scheme::UpThreeDownTwo), published);
    }

    /// Source: thepracticenotebook.com: two up, one down, four to seven times each, ending two clicks above the goal.
    #[test]
    fn up_two_down_one_ends_two_marks_above() {
        let marks: Vec<u16> = said(quarters(60.0, 69.0), Scheme::UpTwoDownOne)
            .iter()
            .map(|r| r.0)
            .collect();
        assert_eq!(marks, [60, 66, 63, 69, 66, 72, 69, 76]);
        let ladder = ladder(&quarters(60.0, 69.0), Scheme::UpTwoDownOne);
        assert!(ladder.rungs.iter().all(|rung| rung.times == (4, 7)));
    }

    /// Source: a clarinet handbook's worked example: goal 120, so 76, 84, 92, 100 and on, three or four times each.
    #[test]
    fn every_second_mark_reaches_the_goal() {
        let marks: Vec<u16> = said(quarters(76.0, 120.0), Scheme::EverySecondMark)
            .iter()
            .map(|r| r.0)
            .collect();
        assert_eq!(marks, [76, 84, 92, 100, 108, 116, 120]);
    }

    /// Source: metronome marks 60 to 144, 21 of them (ripplingkeys.co.uk).
    #[test]
    fn straight_takes_every_mark() {
        assert_eq!(said(quarters(60.0, 144.0), Scheme::Straight).len(), 21);
        assert_eq!(said(quarters(80.0, 80.0), Scheme::Straight), [(80, 3)]);
        assert_eq!(
            said(quarters(100.0, 80.0), Scheme::Straight),
            [(80, 3)],
            "never down"
        );
        assert_eq!(
            said(quarters(60.0, 120.0), Scheme::SlowAndFull),
            [(60, 3), (120, 1)]
        );
    }

    #[test]
    fn below_sixty_the_click_subdivides() {
        let first = |climb: Climb| ladder(&climb, Scheme::Straight).rungs[0].says();
        assert_eq!(first(quarters(52.0, 80.0)), "♩ = 52 (click ♪ = 104)");
        let dotted = BeatUnit {
            value: NoteValue::Quarter,
            dots: 1,
        };
        assert_eq!(first(Climb::on(dotted, 44.0, 80.0)), "♩. = 44 (click ♪ = 132)");
        assert_eq!(first(quarters(60.0, 80.0)), "♩ = 60");
    }

    #[test]
    fn cut_time_climbs_in_quarters_and_finishes_in_halves() {
        let fast = ladder(&Climb::cut_time(40.0, 72.0), Scheme::Straight);
        assert_eq!(fast.rungs[0].says(), "♩ = 80");
        let last = fast.rungs.last().map(Rung::says);
        assert_eq!(last.as_deref(), Some("half = 72"));
        let quarters = fast.rungs.iter().filter(|r| r.beat.value == NoteValue::Quarter);
        assert_eq!(
            quarters.map(|r| r.bpm).collect::<Vec<_>>(),
            [80, 84, 88, 92, 96, 100, 104, 108, 112, 116]
        );
        let slow = ladder(&Climb::cut_time(36.0, 54.0), Scheme::Straight);
        assert_eq!(
            slow.rungs.last().map(Rung::says).as_deref(),
            Some("half = 54 (click ♩ = 108)")
        );
    }

    /// Forty is the slowest mark: what has no mark in halves stays in quarters, and below that in eighths.
    #[test]
    fn very_slow_cut_time_stays_in_quarters() {
        let said = |from, to| -> Vec<String> {
            let ladder = ladder(&Climb::cut_time(from, to), Scheme::Straight);
            ladder.rungs.iter().map(Rung::says).collect()
        };
        assert_eq!(said(20.0, 20.0), ["♩ = 40 (click ♪ = 80)"]);
        assert_eq!(said(36.0, 38.0), ["♩ = 72", "♩ = 76"]);
        assert_eq!(said(38.0, 40.0), ["♩ = 76", "half = 40 (click ♩ = 80)"]);
        assert_eq!(said(19.0, 20.0)[0], "♪ = 76");
    }

    /// A first tempo slower than any metronome goes is climbed in the smaller note first.
    #[test]
    fn a_very_slow_start_is_counted_in_the_smaller_note() {
        let compound = Climb::on(BeatUnit::of_quarters(Quarters::new(3, 2)).unwrap(), 28.0, 48.0);
        let rungs = ladder(&compound, Scheme::Straight).rungs;
        let said: Vec<String> = rungs.iter().map(Rung::says).collect();
        assert_eq!(said[0], "♪ = 84");
        assert!(
            said.contains(&"♪ = 116".to_owned()) && said.contains(&"♩. = 40 (click ♪ = 120)".to_owned()),
            "{said:?}"
        );
        assert_eq!(said.last().unwrap(), "♩. = 48 (click ♪ = 144)");
        let slow = ladder(&quarters(25.0, 60.0), Scheme::Straight).rungs;
        assert_eq!(
            slow[0].says(),
            "♪ = 50 (click ♬ = 100)".replace('♬', slow[0].click.sign().as_str())
        );
    }

    proptest::proptest! {
        /// Every ladder rises from the start, plays each rung at a mark of the series, and reaches the goal.
        #[test]
        fn ladders_reach_their_goal(from in 20.0_f64..250.0, to in 20.0_f64..250.0, which in 0..5_usize, cut: bool) {
            let scheme = Scheme::ALL[which];
            let climb = if cut { Climb::cut_time(from / 2.0, to / 2.0) } else { quarters(from, to) };
            let ladder = ladder(&climb, scheme);
            let in_quarters = |rung: &Rung| f64::from(rung.bpm) * rung.beat.quarters().to_f64();
            // In ¢ the goal is a mark of the quarter note, said in halves where they have one.
            let goal = f64::from(terms::tempo::nearest(to));
            // No scheme stands on a mark more than twice; below forty there are those of the eighth, up to 78.
            let marks = METRONOME_MARKS.len() + METRONOME_MARKS.iter().filter(|mark| **mark < 80).count();
            proptest::prop_assert!(!ladder.rungs.is_empty() && ladder.rungs.len() <= 2 * marks);
            proptest::prop_assert!(ladder.rungs.iter().any(|r| (in_quarters(r) - goal).abs() < 1e-9));
            proptest::prop_assert!(ladder.rungs.iter().all(|r| r.times.0 >= 1 && r.times.0 <= r.times.1));
            proptest::prop_assert!(ladder.rungs.iter().all(|r| METRONOME_MARKS.contains(&r.bpm)));
            proptest::prop_assert!(ladder.rungs.iter().all(|r| r.click_bpm >= 60 && r.click_bpm.is_multiple_of(r.bpm)));
            if scheme != Scheme::UpTwoDownOne {
                proptest::prop_assert!(ladder.rungs.iter().all(|r| in_quarters(r) <= goal + 1e-9));
            }
        }
    }
}
