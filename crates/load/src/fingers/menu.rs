//! Which ways does this player have for a note? The chart's, less what she can't reach; or the one that she chose.

use super::price::{Other, Way};
use crate::Player;
use instruments::fingering::{Chart, Fingering, State, Use};
use notation::Pitch;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Who chose a fingering.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) enum Wish {
    /// Nobody: it is for us to propose.
    #[default]
    None,
    /// The player or her teacher.
    Own,
    /// It is printed on the page.
    Printed,
}

/// The ways of one note for this player.
#[derive(Clone, Debug, Default)]
pub(super) struct Menu<'a> {
    /// The first is used if nothing speaks against it; empty if the movement can't be weighed.
    pub(super) ways: Vec<Way<'a>>,
    /// Each way's fingering, to be handed out.
    pub(super) fingerings: Vec<Arc<Fingering>>,
    /// Who chose, if anybody did.
    pub(super) wish: Wish,
    /// A fingering that she named and the chart does not know: kept, not weighed.
    pub(super) named: Option<Arc<Fingering>>,
    /// Why there is no way; empty if there is one.
    pub(super) gap: String,
}

/// What decides which ways a note has.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Asked<'a> {
    pub(super) written: Pitch,
    /// As the chart reads it.
    pub(super) read: Pitch,
    /// What the teacher chose at this very note.
    pub(super) here: Option<&'a str>,
    /// What the page says at it.
    pub(super) printed: Option<&'a str>,
    /// So short that a lesser sound matters less.
    pub(super) quick: bool,
}

/// The same as a number can be found by: the key as read, the key as written, and the rest.
type Slot<'a> = (i32, i32, Option<&'a str>, Option<&'a str>, bool);

/// All menus asked for so far, each made once.
pub(super) struct Menus<'a> {
    chart: &'a Chart,
    player: &'a Player,
    /// Fingerings written out by the player in the notation, by what she wrote.
    own: &'a BTreeMap<String, Fingering>,
    numbers: BTreeMap<Slot<'a>, usize>,
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

    /// The number of the menu for a note.
    pub(super) fn number(&mut self, asked: &Asked<'a>) -> usize {
        let whole = asked.written.whole_alter().is_some();
        let key = if whole { asked.read.key_number() } else { i32::MIN };
        let slot = (
            key,
            asked.written.key_number(),
            asked.here,
            asked.printed,
            asked.quick,
        );
        if let Some(number) = self.numbers.get(&slot) {
            return *number;
        }
        let mut menu = self.make(asked);
        for way in &mut menu.ways {
            way.quick = asked.quick;
        }
        self.menus.push(menu);
        self.numbers.insert(slot, self.menus.len() - 1);
        self.menus.len() - 1
    }

    fn make(&self, asked: &Asked) -> Menu<'a> {
        let (written, read) = (asked.written, asked.read);
        let wanted = asked.here.or_else(|| named(&self.player.prefers, written).next());
        if let Some(wanted) = wanted {
            return self.chosen(read, wanted);
        }
        let all = self.chart.fingerings(read);
        let out_of_reach: Vec<&str> = named(&self.player.out_of_reach, written).collect();
        let reached = |f: &&Fingering| !out_of_reach.iter().any(|name| f.is_called(name));
        if let Some(fingering) = asked
            .printed
            .and_then(|name| all.iter().filter(reached).find(|f| f.is_called(name)))
        {
            let mut menu = Menu {
                wish: Wish::Printed,
                ..Menu::default()
            };
            menu.offer(fingering, true);
            return menu;
        }
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
            wish: Wish::Own,
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
            quick: false,
        });
        self.fingerings.push(Arc::clone(shared));
    }
}

fn named(list: &[(Pitch, String)], written: Pitch) -> impl Iterator<Item = &str> {
    list.iter()
        .filter(move |(pitch, _)| pitch.semitones() == written.semitones())
        .map(|(_, name)| name.as_str())
}
