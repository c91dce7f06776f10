//! How are the pieces barred? Metres, pickups, labels, breaks; bar lines, repeats and endings; groups of bars.

use super::Maker;
use crate::{
    Bar, BarGroup, BarGroupKind, BarIndex, BarSide, Barline, Ending, EndingKind, Fermata, IdKind, Metre,
    MetrePart, MetreSymbol, Part, Place, Quarters, Rational, Repeat,
};

impl Maker<'_> {
    fn metre(&mut self) -> Metre {
        let plain = [
            (4, 4),
            (3, 4),
            (2, 4),
            (6, 8),
            (9, 8),
            (2, 2),
            (3, 8),
            (5, 4),
            (7, 8),
            (12, 16),
        ];
        let (beats, beat_type) = self.choices.pick(&plain);
        let mut metre = Metre::new(beats, beat_type);
        if !self.palette.odd_metres {
            return metre;
        }
        let part = |groups: &[u16], beat_type| MetrePart {
            groups: groups.to_vec(),
            beat_type,
        };
        match self.choices.below(12) {
            1 => metre.parts = vec![part(&[3, 2, 3], 8)],
            2 => metre.parts = vec![part(&[2], 4), part(&[3], 8)],
            3 => metre.parts = vec![part(&[2, 3], 16)],
            4 if (beats, beat_type) == (4, 4) => metre.symbol = MetreSymbol::Common,
            4 if (beats, beat_type) == (2, 2) => metre.symbol = MetreSymbol::Cut,
            5 => metre.symbol = MetreSymbol::SingleNumber,
            6 => metre.symbol = MetreSymbol::Note,
            7 => {
                metre.parts.clear();
                metre.symbol = MetreSymbol::Senza;
            }
            _ => {}
        }
        metre
    }

    /// The bars; returns where a metre starts, and whether it is printed.
    pub(super) fn grid(&mut self) -> Vec<(usize, Metre, bool)> {
        let bars = 1 + self.choices.below(self.palette.bars.max(1));
        let mut metre = self.metre();
        let mut metres = vec![(0, metre.clone(), true)];
        let pickup = bars > 1 && self.chance(self.palette.pickups, 80);
        for index in 0..bars {
            if index > 1 && self.chance(self.palette.changes, 30) {
                metre = self.metre();
                let printed = !self.chance(self.palette.hidden, 60);
                metres.push((index, metre.clone(), printed));
            }
            let full = metre.length();
            let mut length = full.unwrap_or(Rational::whole(3));
            let mut implicit = false;
            if pickup && index == 0 {
                (length, implicit) = (length * Rational::new(1, 2), true);
                // A half of three sixteenths is no note; a sixteenth is.
                if (length / Rational::new(1, 4)).den() > 1 {
                    length = Rational::new(1, 4);
                }
            }
            let label = if self.chance(self.palette.pickups, 10) && index > 0 {
                implicit = true;
                format!("X{index}")
            } else {
                (index + usize::from(!pickup)).to_string()
            };
            let id = self.piece.ids.give(IdKind::Bar);
            let new_system = self.chance(self.palette.breaks, 30);
            let new_page = self.chance(self.palette.breaks, 10);
            self.metres.push(full);
            self.piece.bars.push(Bar {
                id,
                label,
                implicit,
                length,
                new_system,
                new_page,
            });
        }
        metres
    }

    /// Groups that do not overlap; returns the bars in which the part rests.
    pub(super) fn bar_groups(&mut self, part: &mut Part) -> Vec<bool> {
        let bars = self.piece.bars.len();
        let mut rests = vec![false; bars];
        let mut at = 0;
        while at < bars {
            if !self.chance(self.palette.bar_groups, 20) {
                at += 1;
                continue;
            }
            let length = 1 + self.choices.below((bars - at).min(3));
            let kind = match self.choices.below(4) {
                0 => BarGroupKind::MultiRest,
                1 => BarGroupKind::MeasureRepeat { pattern: 1 },
                2 => BarGroupKind::MeasureRepeat { pattern: 2 },
                _ => BarGroupKind::Other("slash".to_owned()),
            };
            if kind == BarGroupKind::MultiRest {
                rests[at..at + length].fill(true);
            }
            part.bar_groups.push(BarGroup {
                id: self.piece.ids.give(IdKind::Span),
                start: BarIndex::from_usize(at),
                bars: u32::try_from(length).unwrap_or(1),
                kind,
            });
            // A bar between two groups, so that it is clear where the first ends.
            at += length + 1;
        }
        rests
    }

    fn line(&mut self, part: usize, bar: usize, side: BarSide) -> Barline {
        let offset = match side {
            BarSide::Right => self.piece.bars[bar].length,
            _ => Quarters::ZERO,
        };
        Barline {
            id: self.piece.ids.give(IdKind::Barline),
            part,
            place: Place {
                bar: BarIndex::from_usize(bar),
                offset,
            },
            side,
            style: None,
            repeat: None,
            ending: None,
            fermatas: Vec::new(),
            segno: None,
            coda: None,
        }
    }

    /// Repeats with endings, double bars, signs at bar lines; in all parts or in the first alone.
    pub(super) fn bar_lines(&mut self) {
        if !self.palette.repeats {
            return;
        }
        let bars = self.piece.bars.len();
        let mut lines = Vec::new();
        if bars > 2 && self.choices.chance(120) {
            let start = self.choices.below(bars - 2);
            let end = start + 1 + self.choices.below(bars - start - 2);
            let mut left = self.line(0, start, BarSide::Left);
            left.style = Some("heavy-light".to_owned());
            left.repeat = Some(Repeat {
                forward: true,
                times: None,
                after_jump: None,
            });
            let mut right = self.line(0, end, BarSide::Right);
            right.style = Some("light-heavy".to_owned());
            right.repeat = Some(Repeat {
                forward: false,
                times: self.choices.chance(60).then_some(3),
                after_jump: self.choices.chance(40).then_some(true),
            });
            if self.choices.chance(128) && end > start {
                right.ending = ending("1", EndingKind::Stop);
                let mut first = self.line(0, end, BarSide::Left);
                first.ending = ending("1", EndingKind::Start);
                let mut second = self.line(0, end + 1, BarSide::Left);
                second.ending = ending("2", EndingKind::Start);
                let mut open = self.line(0, end + 1, BarSide::Right);
                open.ending = ending("2", EndingKind::Discontinue);
                lines.extend([first, second, open]);
            }
            lines.extend([left, right]);
        }
        for bar in 0..bars {
            if !self.choices.chance(25) || lines.iter().any(|line| line.place.bar.get() == bar) {
                continue;
            }
            let mut line = self.line(0, bar, BarSide::Right);
            match self.choices.below(6) {
                0 => line.style = Some("light-light".to_owned()),
                1 => line.segno = Some(String::new()),
                2 => line.coda = Some("coda1".to_owned()),
                3 => line.fermatas.push(Fermata {
                    shape: String::new(),
                    inverted: false,
                }),
                4 => {
                    line.side = BarSide::Middle;
                    line.place.offset = self.piece.bars[bar].length * Rational::new(1, 2);
                    line.style = Some("dashed".to_owned());
                }
                _ => line.style = Some("none".to_owned()),
            }
            lines.push(line);
        }
        if self.choices.chance(128) && !lines.iter().any(|line| line.place.bar.get() + 1 == bars) {
            let mut line = self.line(0, bars - 1, BarSide::Right);
            line.style = Some("light-heavy".to_owned());
            lines.push(line);
        }
        let parts = if self.choices.chance(200) {
            self.piece.parts.len()
        } else {
            1
        };
        for part in 0..parts {
            for line in &lines {
                let id = self.piece.ids.give(IdKind::Barline);
                self.piece.barlines.push(Barline {
                    id,
                    part,
                    ..line.clone()
                });
            }
        }
    }
}

fn ending(number: &str, kind: EndingKind) -> Option<Ending> {
    let text = if kind == EndingKind::Start {
        format!("{number}.")
    } else {
        String::new()
    };
    Some(Ending {
        number: number.to_owned(),
        text,
        kind,
    })
}
