//! What does the page ask of this player, all of it? Every load, look-alikes, fingerings, breaths, tempi, ladder, levels.

use crate::alike::{self, AlikeAnswer};
use crate::breath::{self, BreathAnswer, Material, Pace, Tempi};
use crate::fingers::{self, FingeringAnswer};
use crate::first_tempo::{self, BarsAsk, FirstTempo};
use crate::hand::{self, Hand};
use crate::ladder::{self, Climb, Ladder, Scheme};
use crate::levels::{self, Page, Standing};
use crate::reading::{self, Hints, ReadingAnswer};
use crate::spots::{self, Judged, Spot};
use crate::{Account, Placed, Player, by_bar};
use notation::{BarIndex, Finding, Id, Place, Quarters, Severity};
use survey::metre::{BeatGrid, BeatUnit, MetreKind};
use survey::phrases::{self, PhrasesAnswer};
use survey::{Context, Survey};

/// How the study goes about it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Wishes {
    /// By which scheme to climb; `None` takes [`Scheme::UpThreeDownTwo`].
    pub scheme: Option<Scheme>,
    /// The first tempo to climb from, in felt beats a minute, instead of the proposed one.
    pub from: Option<f64>,
    /// The tempo to climb to, in felt beats a minute, instead of the marked one.
    pub to: Option<f64>,
    /// What the teacher chose at single notes: the event and the fingering's name.
    pub fingerings: Vec<(Id, String)>,
    /// Where she decided about breaths.
    pub breaths: Vec<breath::OwnBreath>,
}

/// What a bar asks.
#[derive(Clone, PartialEq, Debug)]
pub struct BarLoad {
    /// The bar.
    pub bar: BarIndex,
    /// What there is to read, in bits.
    pub reading: Account,
    /// Movements a second at the final tempo.
    pub hand: Account,
    /// Seconds beyond the comfortable breath, and taken from notes by breaths, at the final tempo.
    pub breath: Account,
    /// Seconds at the final tempo of the longest stretch between breathing places that the bar lies in.
    pub breath_secs: Option<f64>,
    /// What there is to read over what she takes in while the bar lasts, at the slow end of the first tempo.
    pub fullness: f64,
    /// The same, beat by beat; the beats are those felt at tempo.
    pub beats: Vec<BeatLoad>,
}

impl BarLoad {
    /// How much there is to read for this player in the time there is, from 1 (little) to 4 (very much); 0 for nothing. Up to
    /// two fifths of what she takes in is little, three quarters some, a tenth more than all of it much: judgement.
    #[must_use]
    pub fn to_read(&self) -> u8 {
        match self.fullness {
            nothing if nothing < 0.005 => 0,
            little if little <= 0.4 => 1,
            some if some <= 0.75 => 2,
            much if much <= 1.1 => 3,
            _ => 4,
        }
    }

    /// The same in words, as on screen: `much to read`.
    #[must_use]
    pub fn to_read_words(&self) -> &'static str {
        const WORDS: [&str; 5] = [
            "nothing to read",
            "little to read",
            "some to read",
            "much to read",
            "very much to read",
        ];
        WORDS
            .get(usize::from(self.to_read()))
            .copied()
            .unwrap_or(WORDS[4])
    }
}

/// What a beat asks.
#[derive(Clone, PartialEq, Debug)]
pub struct BeatLoad {
    /// Where the beat begins.
    pub place: Place,
    /// The number that is counted aloud, from 1.
    pub beat: u16,
    /// What there is to read, in bits.
    pub reading: Account,
    /// Movements a second of its bar that fall into it.
    pub hand: Account,
}

/// The tempo to climb to.
#[derive(Clone, PartialEq, Debug)]
pub struct Goal {
    /// The felt beat.
    pub beat: BeatUnit,
    /// Such beats a minute.
    pub bpm: f64,
    /// Where it is from, a clause (`marked ♩ = 96`).
    pub from: String,
}

/// The study of a part for a player.
#[derive(Clone, Debug)]
pub struct Study {
    /// For whom.
    pub player: Player,
    /// The beats of each bar, by which its places are said.
    pub grids: Vec<BeatGrid>,
    /// Phrases of the line.
    pub phrases: PhrasesAnswer,
    /// What returns.
    pub alike: AlikeAnswer,
    /// What there is to read, share by share.
    pub reading: ReadingAnswer,
    /// Movements a second at the final tempo, share by share.
    pub hand: Vec<Placed>,
    /// Fingerings, positions or valves.
    pub fingering: FingeringAnswer,
    /// Where to breathe, or how to bow.
    pub breath: BreathAnswer,
    /// Bar by bar.
    pub bars: Vec<BarLoad>,
    /// The tempo of the first reading; `None` without notes.
    pub first: Option<FirstTempo>,
    /// The tempo to climb to; `None` if nothing is marked and none was wished for.
    pub goal: Option<Goal>,
    /// From the first tempo to the goal.
    pub ladder: Option<Ladder>,
    /// Where it will go wrong, the worst first.
    pub spots: Vec<Spot>,
    /// How it stands in published level tables.
    pub levels: Vec<Standing>,
    /// What is to be said beside all this.
    pub findings: Vec<Finding>,
}

/// Studies a part for a player. `survey` must be a whole survey of the same part.
#[must_use]
pub fn study(ctx: &Context, survey: &Survey, player: &Player, wishes: &Wishes) -> Study {
    let bars = ctx.piece.bars.len();
    let phrases = phrases::answer(ctx, survey.key.as_ref());
    let bounds: Vec<BarIndex> = survey
        .road_map
        .unfolding
        .sections
        .iter()
        .map(|s| s.start.bar)
        .collect();
    let alike = alike::answer(ctx, &bounds);
    let hints = Hints {
        regions: survey.key.as_ref().map_or(&[], |key| &key.regions),
        metre: survey.metre.as_ref(),
    };
    let reading = reading::reading_load(ctx, &hints);
    let ornaments = survey
        .ornaments
        .as_ref()
        .map_or(&[][..], |found| &found.ornaments);
    let goal = goal(survey, wishes);
    let last = last_pace(survey, goal.as_ref());
    let options = fingers::Options {
        quick: last.as_ref().and_then(quick),
        own: wishes.fingerings.clone(),
        ..fingers::Options::default()
    };
    let fingering = fingers::answer_with(ctx, player, ornaments, &options);
    let moves: Vec<Placed> = fingering.shares();
    let hand_at = |pace: &Pace| {
        let hand = Hand {
            pace,
            signs: &phrases.signs,
            finger_shares: &moves,
        };
        hand::hand_load(ctx, player, &hand)
    };
    let material = Material {
        phrases: &phrases,
        alike: &alike,
        unfolding: &survey.road_map.unfolding,
        dynamics: survey.dynamics.as_ref(),
        key: survey.key.as_ref(),
        own: &wishes.breaths,
    };
    let reading_accounts = by_bar(&reading.shares, bars);
    let in_time = by_bar(&read_in_time(ctx, &reading), bars);
    let page = survey
        .tempo
        .as_ref()
        .and_then(|tempo| tempo.first_reading.as_ref());
    let quarters: Vec<Quarters> = ctx.piece.bars.iter().map(|bar| bar.length).collect();
    let first = page.map(|page| {
        let measured = Pace::steady(PROBE);
        let probe = by_bar(&hand_at(&measured), bars);
        let tempi = Tempi {
            first: measured.clone(),
            last: measured,
        };
        let stretch = longest_stretch(&breath::breath_answer(ctx, player, &tempi, &material));
        let ask = BarsAsk {
            quarters: &quarters,
            reading: &in_time,
            hand: &probe,
            hand_at: PROBE,
            stretch: stretch.map(|(secs, bar)| (secs, PROBE, bar)),
        };
        first_tempo::first_tempo(page, player, &ask)
    });
    let slow = first.as_ref().map_or(PROBE, |first| first.quarters_a_minute.0);
    let last = last.unwrap_or_else(|| Pace::steady(first.as_ref().map_or(PROBE, |f| f.quarters_a_minute.1)));
    let hand = hand_at(&last);
    let hand_accounts = by_bar(&hand, bars);
    let tempi = Tempi {
        first: Pace::steady(slow),
        last,
    };
    let breath = breath::breath_answer(ctx, player, &tempi, &material);
    let breath_accounts = by_bar(&breath.shares, bars);
    let held = first_tempo::notes_held(player.experience) * first_tempo::BITS_A_NOTE;
    let comfortable: Vec<f64> = quarters
        .iter()
        .map(|quarters| held * quarters.to_f64().max(1.0) * 60.0 / slow)
        .collect();
    let spots = spots::spots(&Judged {
        ctx,
        reading: (&reading_accounts, &comfortable),
        hand: (
            &hand_accounts,
            AT_TEMPO * first_tempo::movements(player.experience),
        ),
        breath: (&breath_accounts, player.breath.seconds.max(1.0)),
        look_first: &survey.look_first,
        alike: &alike,
    });
    let ladder = first
        .as_ref()
        .zip(goal.as_ref())
        .map(|(first, goal)| climb(survey, first, goal, wishes));
    let levels = levels::standings(&Page::of(survey, bars), player.instrument);
    let mut findings = breath.findings.clone();
    findings.extend(out_of_range(ctx, player, &hand));
    findings.extend(other_tempi(ctx, survey, wishes));
    let loads = loads(
        survey,
        &reading,
        &hand,
        (reading_accounts, hand_accounts, breath_accounts),
        &comfortable,
        &breath,
    );
    Study {
        player: player.clone(),
        grids: survey
            .metre
            .as_ref()
            .map(|metre| metre.grids.clone())
            .unwrap_or_default(),
        bars: loads,
        phrases,
        alike,
        reading,
        hand,
        fingering,
        breath,
        first,
        goal,
        ladder,
        spots,
        levels,
        findings,
    }
}

/// The tempo at which things are measured that are then brought to another: ♩ = 60.
const PROBE: f64 = 60.0;

/// What is practised can be done so much faster than what is seen for the first time. Judgement.
const AT_TEMPO: f64 = 2.0;

/// The tempo to climb to: her own wish, the metronome mark, the middle of what tables give the words.
fn goal(survey: &Survey, wishes: &Wishes) -> Option<Goal> {
    let tempo = survey.tempo.as_ref()?;
    if let (Some(bpm), Some(beat)) = (wishes.to, tempo.beat.or(Some(BeatUnit::QUARTER))) {
        return Some(Goal {
            beat,
            bpm,
            from: "as asked for".to_owned(),
        });
    }
    if let Some(mark) = &tempo.metronome {
        let (low, high) = mark.beats_a_minute;
        return Some(Goal {
            beat: mark.beat,
            bpm: f64::midpoint(low, high),
            from: "the metronome mark".to_owned(),
        });
    }
    let (beat, words) = (tempo.beat?, tempo.marking.as_ref()?);
    // Where tables disagree, the middle of what they share; an open row is taken a third further.
    let ends = tempo
        .ranges
        .iter()
        .filter_map(|range| match (range.low, range.high) {
            (Some(low), Some(high)) => Some((low, high)),
            (Some(low), None) => Some((low, low * 4.0 / 3.0)),
            (None, Some(high)) => Some((high * 3.0 / 4.0, high)),
            (None, None) => None,
        });
    let (low, high) = ends.reduce(|a, b| (a.0.max(b.0), a.1.min(b.1)))?;
    Some(Goal {
        beat,
        bpm: f64::midpoint(low, high),
        from: format!("usual for “{words}”"),
    })
}

/// The final tempo all through the piece, as marked; a wish moves it all in proportion.
fn last_pace(survey: &Survey, goal: Option<&Goal>) -> Option<Pace> {
    let goal = goal?;
    let wished = goal.bpm * goal.beat.quarters().to_f64();
    let marked = Pace::of_speeds(&survey.tempo.as_ref()?.speeds);
    if marked.is_unknown() {
        return Some(Pace::steady(wished));
    }
    let times = wished / marked.at(Place::default());
    Some(marked.times(times))
}

/// What is read while playing: the marks at the first note are read before it.
fn read_in_time(ctx: &Context, reading: &ReadingAnswer) -> Vec<Placed> {
    let first = ctx
        .line
        .first()
        .and_then(|note| ctx.event(note))
        .map(|event| event.place);
    let in_time = |placed: &&Placed| {
        let mark = !matches!(placed.share.kind, "pitch" | "rhythm" | "accidental");
        !(mark && first.is_some_and(|first| placed.place <= first))
    };
    reading.shares.iter().filter(in_time).cloned().collect()
}

/// The longest note that is quick at a tempo: a quarter of a second. Source: see [`fingers::Options::quick`].
fn quick(pace: &Pace) -> Option<Quarters> {
    const LENGTHS: [(i64, i64); 9] = [
        (2, 1),
        (1, 1),
        (2, 3),
        (1, 2),
        (1, 3),
        (1, 4),
        (1, 6),
        (1, 8),
        (1, 16),
    ];
    let in_time = |length: &Quarters| length.to_f64() * 60.0 / pace.at(Place::default()) <= 0.25 + 1e-9;
    LENGTHS
        .iter()
        .map(|(of, parts)| Quarters::new(*of, *parts))
        .find(in_time)
}

/// Seconds of the longest stretch between breathing places, and its first bar.
fn longest_stretch(breath: &BreathAnswer) -> Option<(f64, BarIndex)> {
    let all = breath
        .bars
        .iter()
        .enumerate()
        .filter_map(|(bar, secs)| Some(((*secs)?, bar)));
    let (secs, bar) = all.reduce(|a, b| if b.0 > a.0 { b } else { a })?;
    Some((secs, BarIndex::from_usize(bar)))
}

fn climb(survey: &Survey, first: &FirstTempo, goal: &Goal, wishes: &Wishes) -> Ladder {
    let from = wishes.from.unwrap_or_else(|| {
        f64::from(first.range.low) * (first.beat.quarters() / goal.beat.quarters()).to_f64()
    });
    let cut = survey
        .metre
        .as_ref()
        .and_then(|metre| metre.metres.first())
        .is_some_and(|stretch| {
            stretch.symbol == "¢" || stretch.beat_type == 2 && stretch.kind == MetreKind::Simple
        });
    let climb = if cut && goal.beat == BeatUnit::plain(notation::NoteValue::Half) {
        Climb::cut_time(from, goal.bpm)
    } else {
        Climb::on(goal.beat, from, goal.bpm)
    };
    ladder::ladder(&climb, wishes.scheme.unwrap_or(Scheme::UpThreeDownTwo))
}

/// Said where later sections are marked at quite another tempo: the climb is to the first. A quarter faster or slower: ours.
fn other_tempi(ctx: &Context, survey: &Survey, wishes: &Wishes) -> Option<Finding> {
    let speeds = &survey.tempo.as_ref()?.speeds;
    let middle = |speed: &survey::tempo::Speed| f64::midpoint(speed.low, speed.high);
    let first = speeds.first().map(middle).filter(|speed| *speed > 0.0)?;
    let other = speeds
        .iter()
        .find(|speed| !(0.75..=1.25).contains(&(middle(speed) / first)))?;
    wishes.to.is_none().then(|| {
        Finding::new(
            Severity::Note,
            "several-tempi",
            "from here on it is marked at quite another tempo; the climb is to the first one",
            "ask again for a climb to this one with --to-tempo",
        )
        .at_bar(other.place.bar, ctx.label(other.place.bar))
    })
}

fn out_of_range(ctx: &Context, player: &Player, hand: &[Placed]) -> Option<Finding> {
    let mut bars: Vec<BarIndex> = hand
        .iter()
        .filter(|placed| placed.share.kind == "outside-range")
        .map(|placed| placed.place.bar)
        .collect();
    bars.dedup();
    let (low, high) = player.written_range()?;
    let first = bars.first()?;
    let whose = if player.range.is_some() {
        "your own range"
    } else {
        "the usual range at this level"
    };
    Some(
        Finding::new(
            Severity::Caution,
            "outside-players-range",
            format!(
                "notes outside {whose}, {low} to {high}, in {} bar{}",
                bars.len(),
                if bars.len() == 1 { "" } else { "s" }
            ),
            "ask the teacher whether to play them, and don't force them",
        )
        .at_bar(*first, ctx.label(*first)),
    )
}

fn loads(
    survey: &Survey,
    reading: &ReadingAnswer,
    hand: &[Placed],
    (by_reading, by_hand, by_breath): (Vec<Account>, Vec<Account>, Vec<Account>),
    comfortable: &[f64],
    breath: &BreathAnswer,
) -> Vec<BarLoad> {
    let grids = survey.metre.as_ref().map_or(&[][..], |metre| &metre.grids);
    let mut next = (0, 0);
    let accounts = by_reading.into_iter().zip(by_hand).zip(by_breath).enumerate();
    accounts
        .map(|(index, ((of_reading, of_hand), of_breath))| {
            let bar = BarIndex::from_usize(index);
            let grid = grids.get(index);
            let felt = grid.map_or(&[][..], |grid| grid.beats());
            let offset = |start: Quarters| {
                grid.map_or(start, |grid| grid.offset(start))
                    .max(Quarters::default())
            };
            let starts: Vec<Quarters> = felt.iter().map(|beat| offset(beat.start)).collect();
            let mut beats: Vec<BeatLoad> = starts
                .iter()
                .zip(felt)
                .map(|(at, beat)| BeatLoad {
                    place: Place { bar, offset: *at },
                    beat: beat.number,
                    reading: Account::default(),
                    hand: Account::default(),
                })
                .collect();
            if beats.is_empty() {
                beats.push(BeatLoad {
                    place: Place::start_of(bar),
                    beat: 1,
                    reading: Account::default(),
                    hand: Account::default(),
                });
            }
            put(&reading.shares, &mut next.0, bar, &starts, |beat, share| {
                if let Some(beat) = beats.get_mut(beat) {
                    beat.reading.add(share.kind, share.amount, share.why.clone());
                }
            });
            put(hand, &mut next.1, bar, &starts, |beat, share| {
                if let Some(beat) = beats.get_mut(beat) {
                    beat.hand.add(share.kind, share.amount, share.why.clone());
                }
            });
            BarLoad {
                bar,
                fullness: comfortable
                    .get(index)
                    .map_or(0.0, |whole| of_reading.total() / whole),
                reading: of_reading,
                hand: of_hand,
                breath: of_breath,
                breath_secs: breath.bars.get(index).copied().flatten(),
                beats,
            }
        })
        .collect()
}

/// Gives each share of a bar to the beat in which it is met; shares come in order of place.
fn put(
    shares: &[Placed],
    next: &mut usize,
    bar: BarIndex,
    starts: &[Quarters],
    mut give: impl FnMut(usize, &crate::Share),
) {
    while let Some(placed) = shares.get(*next).filter(|placed| placed.place.bar <= bar) {
        *next += 1;
        if placed.place.bar == bar {
            let beat = starts.partition_point(|start| *start <= placed.place.offset);
            give(beat.saturating_sub(1), &placed.share);
        }
    }
}
