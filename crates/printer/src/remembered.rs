//! What was engraved lately? The same music in the same way has the same drawing.

use job::{AskEngrave, Engraved};
use std::collections::VecDeque;

/// The last engravings; none unless a number was given.
#[derive(Default)]
pub(crate) struct Remembered {
    most: usize,
    last: VecDeque<One>,
}

struct One {
    mei: String,
    ask: AskEngrave,
    engraved: Engraved,
    svgs: Vec<String>,
}

impl Remembered {
    /// Room for so many.
    pub(crate) const fn of(most: usize) -> Self {
        Self {
            most,
            last: VecDeque::new(),
        }
    }

    /// An engraving that was made already.
    pub(crate) fn get(&self, mei: &str, ask: &AskEngrave) -> Option<(Engraved, Vec<String>)> {
        let found = self.last.iter().find(|one| one.mei == mei && one.ask == *ask)?;
        Some((found.engraved.clone(), found.svgs.clone()))
    }

    /// Keeps an engraving, and lets the oldest go.
    pub(crate) fn put(&mut self, mei: &str, ask: AskEngrave, engraved: &Engraved, svgs: &[String]) {
        if self.most == 0 {
            return;
        }
        if self.last.len() >= self.most {
            self.last.pop_front();
        }
        self.last.push_back(One {
            mei: mei.to_owned(),
            ask,
            engraved: engraved.clone(),
            svgs: svgs.to_vec(),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::Remembered;
    use job::{AskEngrave, Breaks, Engraved, Weights};

    fn ask(width: f64) -> AskEngrave {
        AskEngrave {
            width,
            breaks: Breaks::Flow,
            spacing: 1.0,
            weights: Weights::default(),
            ink: true,
        }
    }

    fn engraved() -> Engraved {
        Engraved {
            systems: Vec::new(),
            complaints: vec!["a word".to_owned()],
        }
    }

    #[test]
    fn the_last_ones_are_known_and_only_as_they_were_asked() {
        let ask = ask(100.0);
        let mut remembered = Remembered::of(2);
        for mei in ["a", "b", "c"] {
            remembered.put(mei, ask.clone(), &engraved(), &[mei.to_owned()]);
        }
        assert_eq!(
            remembered.get("c", &ask).map(|(_, svgs)| svgs),
            Some(vec!["c".to_owned()])
        );
        assert!(remembered.get("b", &ask).is_some());
        assert!(remembered.get("a", &ask).is_none());
        assert!(remembered.get("c", &self::ask(101.0)).is_none());
    }

    #[test]
    fn nothing_is_remembered_unasked() {
        let mut remembered = Remembered::default();
        remembered.put("a", ask(100.0), &engraved(), &[]);
        assert!(remembered.get("a", &ask(100.0)).is_none());
    }
}
