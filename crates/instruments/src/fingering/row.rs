//! How is a chart written down? One row a fingering, in the neutral notation, with its grade and sources.

use super::chart::{Fingering, Prepared, Tendency, Use};
use super::hand::{Digit, Keys, State};
use crate::facts::Grade;
use crate::sources::MEMORY;
use notation::Pitch;

/// A row of a chart.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Row {
    pub(crate) note: &'static str,
    name: &'static str,
    hands: &'static str,
    grade: Grade,
    sources: &'static [&'static str],
    use_for: Use,
    tendency: Option<Tendency>,
    lesser: Option<Tendency>,
    remark: &'static str,
    needs: &'static str,
    flick: &'static str,
}

/// A fingering of a note.
pub(crate) const fn row(
    note: &'static str,
    name: &'static str,
    hands: &'static str,
    grade: Grade,
    sources: &'static [&'static str],
) -> Row {
    Row {
        note,
        name,
        hands,
        grade,
        sources,
        use_for: Use::Any,
        tendency: None,
        lesser: None,
        remark: "",
        needs: "",
        flick: "",
    }
}

impl Row {
    /// For trills only.
    pub(crate) const fn trill(self) -> Self {
        Self {
            use_for: Use::Trill,
            ..self
        }
    }

    pub(crate) const fn tends(self, says: &'static str, source: &'static str) -> Self {
        Self {
            tendency: Some(Tendency { says, source }),
            ..self
        }
    }

    /// Worse than the others of its note, a source says why.
    pub(crate) const fn lesser(self, says: &'static str, source: &'static str) -> Self {
        Self {
            lesser: Some(Tendency { says, source }),
            ..self
        }
    }

    pub(crate) const fn remark(self, remark: &'static str) -> Self {
        Self { remark, ..self }
    }

    pub(crate) const fn needs(self, needs: &'static str) -> Self {
        Self { needs, ..self }
    }

    pub(crate) const fn flick(self, flick: &'static str) -> Self {
        Self { flick, ..self }
    }

    /// The key number it is for, and the fingering; `None` if it is not understood (a test reads every row).
    pub(crate) fn read(&self, held: &[Held]) -> Option<(i32, Fingering)> {
        let pitch = Pitch::parse(self.note)?;
        let state = State::parse(self.hands)?;
        let (required, optional) = self.without_optional(state)?;
        let mut fingering = Fingering::new(self.name, required, self.grade, self.sources);
        fingering.use_for = self.use_for;
        fingering.tendency = self.tendency;
        fingering.lesser = self.lesser;
        fingering.remark = self.remark;
        fingering.needs = self.needs;
        fingering.flick = self.flick;
        if let Some((digit, keys)) = optional {
            fingering.optional = Some((digit, keys));
            fingering.prepared.push(Prepared {
                state,
                says: "the right little finger may stay on the E♭ key",
                grade: self.grade,
                source: self.sources.first().copied().unwrap_or(MEMORY),
            });
        }
        fingering.prepared.extend(
            held.iter()
                .filter(|rule| rule.is_for(pitch))
                .filter_map(|rule| rule.prepare(&required)),
        );
        Some((pitch.key_number(), fingering))
    }

    /// The state without the token in parentheses, and that token.
    fn without_optional(&self, state: State) -> Option<(State, Option<(Digit, Keys)>)> {
        let Some((before, rest)) = self.hands.split_once('(') else {
            return Some((state, None));
        };
        let (token, after) = rest.split_once(')')?;
        let required = State::parse(&format!("{before}{after}"))?;
        let alone = if before.contains('|') {
            format!("| {token}")
        } else {
            format!("{token} |")
        };
        let optional = State::parse(&alone)?.pressed().next()?;
        Some((required, Some(optional)))
    }
}

/// When keys may stay down, or go down early, without changing the note.
#[derive(Clone, Copy, Debug)]
enum When {
    /// The state holds these digits at home, and nothing else under them.
    Home(&'static str),
    /// The state holds exactly this under a digit.
    Holds(&'static str),
    /// Only for certain notes.
    Notes,
    /// The left hand's three fingers are down and one of the right hand's, and the added digit is free.
    RightHand,
}

/// A rule about keys that may stay down: it makes a further state out of a fingering.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Held {
    when: When,
    /// What to put under the digits it names.
    put: &'static str,
    only: &'static [&'static str],
    except: &'static [&'static str],
    says: &'static str,
    grade: Grade,
    source: &'static str,
}

impl Held {
    /// The digit of `what` goes to `with` wherever the digits of `what` are at home, except for some notes.
    pub(crate) const fn replace(
        what: &'static str,
        with: &'static str,
        except: &'static [&'static str],
        says: &'static str,
        grade: Grade,
        source: &'static str,
    ) -> Self {
        Self {
            when: When::Home(what),
            put: with,
            only: &[],
            except,
            says,
            grade,
            source,
        }
    }

    /// Digits added under certain notes.
    pub(crate) const fn add(
        put: &'static str,
        only: &'static [&'static str],
        says: &'static str,
        grade: Grade,
        source: &'static str,
    ) -> Self {
        Self {
            when: When::Notes,
            put,
            only,
            except: &[],
            says,
            grade,
            source,
        }
    }

    /// A digit added where another presses exactly a key.
    pub(crate) const fn beside(
        holds: &'static str,
        put: &'static str,
        says: &'static str,
        grade: Grade,
        source: &'static str,
    ) -> Self {
        Self {
            when: When::Holds(holds),
            put,
            only: &[],
            except: &[],
            says,
            grade,
            source,
        }
    }

    /// A digit of the left hand added where the left hand is down and a finger of the right one too.
    pub(crate) const fn under_right_hand(
        put: &'static str,
        says: &'static str,
        grade: Grade,
        source: &'static str,
    ) -> Self {
        Self {
            when: When::RightHand,
            put,
            only: &[],
            except: &[],
            says,
            grade,
            source,
        }
    }

    fn is_for(&self, pitch: Pitch) -> bool {
        let among = |names: &[&str]| {
            names
                .iter()
                .filter_map(|name| Pitch::parse(name))
                .any(|other| other.key_number() == pitch.key_number())
        };
        (self.only.is_empty() || among(self.only)) && !among(self.except)
    }

    /// The state with the keys held; `None` where the rule does not apply or changes nothing.
    fn prepare(&self, state: &State) -> Option<Prepared> {
        let both = |text: &str| State::parse(text).or_else(|| State::parse(&format!("{text} |")));
        let put = both(self.put).or_else(|| State::parse(&format!("| {}", self.put)))?;
        let applies = match self.when {
            When::Home(digits) => {
                let wanted = both(digits)?;
                wanted.pressed().all(|(digit, keys)| state.of(digit) == keys)
            }
            When::Holds(token) => {
                let wanted = both(token).or_else(|| State::parse(&format!("| {token}")))?;
                wanted.pressed().all(|(digit, keys)| state.of(digit) == keys)
            }
            When::Notes => true,
            When::RightHand => {
                let home = |digit| state.of(digit) == Keys::HOME;
                [Digit::L1, Digit::L2, Digit::L3].into_iter().all(home)
                    && [Digit::R1, Digit::R2, Digit::R3].into_iter().any(home)
            }
        };
        let replaces = matches!(self.when, When::Home(_));
        let free = replaces || put.pressed().all(|(digit, _)| state.of(digit).is_empty());
        let mut held = *state;
        for (digit, keys) in put.pressed() {
            held.set(digit, keys);
        }
        (applies && free && held != *state).then_some(Prepared {
            state: held,
            says: self.says,
            grade: self.grade,
            source: self.source,
        })
    }
}
