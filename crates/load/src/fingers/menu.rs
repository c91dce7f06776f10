//! Which ways does this player have for a note? The chart's, less what she can't reach; or the one that she chose.

use super::price::{Other, Way};
use crate::Player;
use instruments::fingering::{Chart, Fingering, State, Use};
use notation::Pitch;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The ways of one note for this player.
#[derive(Clone, Debug, Default)]
pub(super) struct Menu<'a> {
    /// The first is used if nothing speaks against it; empty if the movement can't be weighed.
    pub(super) ways: Vec<Way<'a>>,
    /// Each way's fingering, to be handed out.
    pub(super) fingerings: Vec<Arc<Fingering>>,
    /// She or her teacher chose it.
    pub(super) chosen: bool,
    /// A fingering that she named and the chart does not know: kept, not weighed.
    pub(super) named: Option<Arc<Fingering>>,
    /// Why there is no way; empty if there is one.
    pub(super) gap: String,
}

/// All menus asked for so far, each made once.
pub(super) struct Menus<'a> {
    chart: &'a Chart,
    player: &'a Player,
    /// Fingerings written out by the player in the notation, by what she wrote.
    own: &'a BTreeMap<String, Fingering>,
    numbers: BTreeMap<(i32, i32, Option<&'a str>), usize>,
    menus: Vec<Menu<'a>>,
}

/// Fingerings that a player wrote out in the notation, by what she wrote.
pub(super) fn written_out<'a>(names: impl Iterator<Item = &'a str>) -> BTreeMap<String, Fingering> {
    names
        .filter_map(|name| Some((name.to_owned(), Fingering::own(name, State::parse(name)?))))
        .collect()
}

impl<'a> Menus<'a> {
    pub(super) fn new(chart: &'a Chart, player: &'a Player, own: &'a BTreeMap<String, Fingering>) -> Self {
        Self {
            chart,
            player,
            own,
            numbers: BTreeMap::new(),
            menus: Vec::new(),
        }
    }

    pub(super) fn get(&self, number: usize) -> Option<&Menu<'a>> {
        self.menus.get(number)
    }

    /// The number of the menu for a note; `here` is what the teacher chose at this very note.
    pub(super) fn number(&mut self, written: Pitch, read: Pitch, here: Option<&'a str>) -> usize {
        let whole = written.whole_alter().is_some();
        let key = if whole { read.key_number() } else { i32::MIN };
        let slot = (key, written.key_number(), here);
        if let Some(number) = self.numbers.get(&slot) {
            return *number;
        }
        let menu = self.make(written, read, here);
        self.menus.push(menu);
        self.numbers.insert(slot, self.menus.len() - 1);
        self.menus.len() - 1
    }

    fn make(&self, written: Pitch, read: Pitch, here: Option<&str>) -> Menu<'a> {
        let wanted = here.or_else(|| named(&self.player.prefers, written).next());
        if let Some(wanted) = wanted {
            return self.chosen(read, wanted);
        }
        let all = self.chart.fingerings(read);
        let out_of_reach: Vec<&str> = named(&self.player.out_of_reach, written).collect();
        let reached = |f: &&Fingering| !out_of_reach.iter().any(|name| f.is_called(name));
        let usual = |f: &&Fingering| f.use_for == Use::Any && (f.needs.is_empty() || f.position.is_some());
        let fit: Vec<&Fingering> = all.iter().filter(usual).filter(reached).collect();
        let gap = match (self.chart.gap(read), fit.is_empty()) {
            (Some(why), _) => why,
            (None, true) => "every fingering known here is out of reach for this player".to_owned(),
            (None, false) => String::new(),
        };
        let mut menu = Menu {
            gap,
            ..Menu::default()
        };
        for (index, fingering) in fit.into_iter().enumerate() {
            menu.offer(fingering, index == 0);
        }
        menu
    }

    fn chosen(&self, read: Pitch, wanted: &str) -> Menu<'a> {
        let known = self.chart.fingerings(read).iter().find(|f| f.is_called(wanted));
        let mut menu = Menu {
            chosen: true,
            ..Menu::default()
        };
        match known.or_else(|| self.own.get(wanted)) {
            Some(fingering) => menu.offer(fingering, true),
            None => menu.named = Some(Arc::new(Fingering::own(wanted, State::default()))),
        }
        menu
    }
}

impl<'a> Menu<'a> {
    fn offer(&mut self, fingering: &'a Fingering, first: bool) {
        let shared = Arc::new(fingering.clone());
        let (plain, held) = if first {
            (Other::First, Other::Held)
        } else {
            (Other::Alternate, Other::HeldAlternate)
        };
        self.push(&shared, fingering, None, plain);
        for prepared in &fingering.prepared {
            self.push(&shared, fingering, Some(prepared), held);
        }
    }

    fn push(
        &mut self,
        shared: &Arc<Fingering>,
        fingering: &'a Fingering,
        held: Option<&'a instruments::fingering::Prepared>,
        other: Other,
    ) {
        self.ways.push(Way {
            fingering,
            held,
            other,
        });
        self.fingerings.push(Arc::clone(shared));
    }
}

fn named(list: &[(Pitch, String)], written: Pitch) -> impl Iterator<Item = &str> {
    list.iter()
        .filter(move |(pitch, _)| pitch.semitones() == written.semitones())
        .map(|(_, name)| name.as_str())
}
