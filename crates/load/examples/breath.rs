//! Where would a teacher pencil the commas? `cargo run -p foreread-load --example breath -- [--instrument ID] [--level LEVEL] [--breath SECONDS] PIECE …`.
//!
//! Prints phrases, breaths at the first and the final tempo with their reasons, what has no place to breathe, bowings for
//! strings, and the heaviest shares of the hand load. `--blank` takes the printed breath marks away first and says how many of
//! them come back.

use instruments::Experience;
use load::breath::{self, Kind, Material, Pace, Tempi};
use load::hand::{self, Hand};
use load::{Player, alike};
use std::io::{self, Write};
use survey::{Context, Options, Question};

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let (mut instrument, mut level, mut seconds, mut blank) = (None, Experience::Intermediate, None, false);
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        match arg.as_str() {
            "--instrument" => instrument = args.next().and_then(|id| instruments::by_id(&id)),
            "--level" => {
                let name = args.next().unwrap_or_default();
                level = Experience::ALL
                    .into_iter()
                    .find(|l| l.word() == name)
                    .unwrap_or(level);
            }
            "--breath" => seconds = args.next().and_then(|s| s.parse().ok()),
            "--blank" => blank = true,
            path => piece(&mut out, path, (instrument, level, seconds), blank)?,
        }
    }
    Ok(())
}

type Who = (Option<&'static instruments::Instrument>, Experience, Option<f64>);

fn piece(out: &mut impl Write, path: &str, (instrument, level, seconds): Who, blank: bool) -> io::Result<()> {
    let (mut piece, _) = formats::read(&std::fs::read(path)?, path).map_err(io::Error::other)?;
    let mut printed: Vec<Vec<notation::Place>> = Vec::new();
    for part in &mut piece.parts {
        let mut places = Vec::new();
        for event in &mut part.events {
            let before = event.articulations.len();
            if blank {
                event.articulations.retain(|mark| !mark.kind.is_break());
            }
            if event.articulations.len() < before {
                places.push(event.place);
            }
        }
        printed.push(places);
    }
    for (part, printed) in printed.iter().enumerate() {
        let (Some(ctx), Some(survey)) = (
            Context::new(&piece, part),
            survey::survey(&piece, part, &Question::ALL, &Options::default()),
        ) else {
            continue;
        };
        let instrument = instrument.or(survey.instrument.as_ref().map(|found| found.instrument));
        let mut player = Player::usual(instrument, level);
        if let Some(seconds) = seconds {
            player.breath.seconds = seconds;
        }
        let phrases = survey::phrases::answer(&ctx, survey.key.as_ref());
        let alike = alike::answer(&ctx, &[]);
        let first = survey
            .tempo
            .as_ref()
            .and_then(|tempo| tempo.first_reading.as_ref());
        let first = first.map_or(60.0, |first| {
            f64::from(first.low + first.high) / 2.0 * first.beat.quarters().to_f64()
        });
        let last = survey.tempo.as_ref().map(|tempo| Pace::of_speeds(&tempo.speeds));
        let last = last
            .filter(|pace| !pace.is_unknown())
            .unwrap_or_else(|| Pace::steady(first));
        let tempi = Tempi {
            first: Pace::steady(first),
            last,
        };
        let material = Material {
            phrases: &phrases,
            alike: &alike,
            unfolding: &survey.road_map.unfolding,
            dynamics: survey.dynamics.as_ref(),
            key: survey.key.as_ref(),
            own: &[],
        };
        let answer = breath::breath_answer(&ctx, &player, &tempi, &material);
        writeln!(
            out,
            "== {path}, {}: {} bars, breath {:.0} s, first ♩={first:.0}",
            instrument.map_or("?", |i| i.name),
            piece.bars.len(),
            player.breath.seconds
        )?;
        writeln!(out, "{}", answer.summary)?;
        if blank {
            // A mark stands after its note: the next note of the line is where a phrase should begin.
            let next = |place: &notation::Place| {
                ctx.line
                    .iter()
                    .position(|note| ctx.event(note).is_some_and(|event| event.place > *place))
            };
            let all: Vec<usize> = printed.iter().filter_map(next).collect();
            let found = all.iter().filter(|note| phrases.begins(**note)).count();
            let breaths: Vec<usize> = answer.at_first.iter().map(|breath| breath.note).collect();
            let breathed = all.iter().filter(|note| breaths.contains(note)).count();
            writeln!(
                out,
                "printed marks {}: {found} are phrases ({} in all), {breathed} are breaths ({} in all)",
                all.len(),
                phrases.boundaries.len() - 1,
                breaths.len()
            )?;
            for note in all.iter().filter(|note| !phrases.begins(**note)) {
                writeln!(
                    out,
                    "  missed {:?} {:.2}",
                    ctx.event(&ctx.line[*note])
                        .map(|e| (piece.label(e.place.bar), e.place.offset)),
                    phrases.certainties[*note]
                )?;
            }
        }
        let at = |place: notation::Place| {
            let beats = place.offset.to_f64();
            format!("bar {} +{beats:.2}", piece.label(place.bar))
        };
        for boundary in &phrases.boundaries {
            writeln!(
                out,
                "  phrase {} ({:.2}): {}",
                at(boundary.place),
                boundary.certainty,
                boundary.why.join(", ")
            )?;
        }
        for (name, list) in [("final", &answer.at_final), ("first", &answer.at_first)] {
            for breath in list.iter().filter(|breath| name == "final" || breath.optional) {
                let sign = match breath.kind {
                    Kind::Breathe => ",",
                    Kind::BreatheOut => "(out)",
                    Kind::OnRest => "rest",
                };
                writeln!(out, "  {name} {sign} before {}: {}", at(breath.place), breath.why)?;
            }
        }
        for finding in &answer.findings {
            writeln!(out, "  ! {finding}")?;
        }
        for sign in answer.bowing.iter().flat_map(|bowing| &bowing.signs) {
            writeln!(
                out,
                "  bow {} at {}: {}",
                sign.stroke.word(),
                at(sign.place),
                sign.why
            )?;
        }
        let seconds: Vec<String> = answer
            .bars
            .iter()
            .map(|bar| bar.map_or("-".to_owned(), |s| format!("{s:.0}")))
            .collect();
        writeln!(out, "  seconds by bar: {}", seconds.join(" "))?;
        let hand = Hand {
            pace: &tempi.last,
            signs: &phrases.signs,
            finger_shares: &[],
        };
        let shares = hand::hand_load(&ctx, &player, &hand);
        let accounts = load::by_bar(&shares, piece.bars.len());
        let mut order: Vec<usize> = (0..accounts.len()).collect();
        order.sort_by(|a, b| accounts[*b].total().total_cmp(&accounts[*a].total()));
        for bar in order.into_iter().take(4) {
            let account = &accounts[bar];
            let why: Vec<String> = account
                .largest_first()
                .iter()
                .take(4)
                .map(|s| format!("{} {:.1}", s.why, s.amount))
                .collect();
            writeln!(
                out,
                "  hand bar {} {:.1}/s: {}",
                piece.bars[bar].label,
                account.total(),
                why.join("; ")
            )?;
        }
        for placed in answer.shares.iter().take(6) {
            writeln!(
                out,
                "  share {} {}: {} {:.1}",
                at(placed.place),
                placed.share.kind,
                placed.share.why,
                placed.share.amount
            )?;
        }
    }
    Ok(())
}
