//! What is a movement worth beside another? The prices of moving fingers, valves, slide and lips.
//!
//! No published table of such weights was found; these are our own, fitted so that published rules of choosing come out
//! (see `rules.rs`), and checked with each of them a quarter higher and lower. What the literature gives is the structure:
//! the cheapest path over all fingerings (S. Libricky and J. Hajic, ISMIR 2025), more for more fingers (A. Almeida et
//! al., JASA 126, 2009), against sliding and fingers going against each other (B. Pimentel; C. West).

/// The prices. The unit is the movement of one finger.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Weights {
    /// An index, middle or ring finger moves. Valves too.
    pub finger: f64,
    /// A thumb.
    pub thumb: f64,
    /// A little finger.
    pub little: f64,
    /// Palm or side of the hand.
    pub palm_or_side: f64,
    /// A finger rolls between the whole hole and half of it.
    pub half_hole_roll: f64,
    /// In one hand, a finger comes up while another goes down; for each such pair.
    pub contrary_same_hand: f64,
    /// One hand closes while the other opens.
    pub contrary_between_hands: f64,
    /// A finger goes from one key to another; comes on top of the finger's own movement.
    pub slide: f64,
    /// The same between keys with rollers, or where the finger only rolls over.
    pub slide_on_rollers: f64,
    /// Each finger beyond two that moves at once.
    pub each_finger_beyond_two: f64,
    /// A change of register; for each break crossed.
    pub register_boundary: f64,
    /// A fingering that is not the basic one.
    pub non_basic_fingering: f64,
    /// A fingering that a source calls worse in sound or tuning: nearly what a slide costs, so that it is taken to avoid one.
    pub lesser_fingering: f64,
    /// A key held or put down early.
    pub held_key_variant: f64,
    /// Brass: the lips go over to the next harmonic; for each harmonic.
    pub harmonic: f64,
    /// Brass: valves other than the basic ones, which are differently in tune.
    pub other_valves: f64,
    /// Trombone: the slide moves by one position.
    pub position: f64,
    /// Trombone: the slide goes out while the melody rises, or in while it falls.
    pub against_melody: f64,
    /// Trombone: a position other than the basic one.
    pub other_position: f64,
    /// Trombone: the same in sixth or seventh position; comes on top.
    pub far_position: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self {
            finger: 1.0,
            thumb: 0.8,
            little: 1.3,
            palm_or_side: 1.2,
            half_hole_roll: 0.7,
            contrary_same_hand: 1.5,
            contrary_between_hands: 0.5,
            slide: 4.5,
            slide_on_rollers: 2.0,
            each_finger_beyond_two: 0.25,
            register_boundary: 1.5,
            non_basic_fingering: 0.3,
            lesser_fingering: 4.3,
            held_key_variant: 0.1,
            harmonic: 0.5,
            other_valves: 3.0,
            position: 1.0,
            against_melody: 0.5,
            other_position: 0.5,
            far_position: 1.0,
        }
    }
}

impl Weights {
    /// How many prices there are.
    pub const COUNT: usize = 20;

    /// The price with a number below [`Weights::COUNT`], in the order of the fields, with its name.
    pub fn nth(&mut self, index: usize) -> Option<(&'static str, &mut f64)> {
        Some(match index {
            0 => ("finger", &mut self.finger),
            1 => ("thumb", &mut self.thumb),
            2 => ("little", &mut self.little),
            3 => ("palm or side", &mut self.palm_or_side),
            4 => ("half-hole roll", &mut self.half_hole_roll),
            5 => ("contrary, same hand", &mut self.contrary_same_hand),
            6 => ("contrary, between hands", &mut self.contrary_between_hands),
            7 => ("slide", &mut self.slide),
            8 => ("slide on rollers", &mut self.slide_on_rollers),
            9 => ("each finger beyond two", &mut self.each_finger_beyond_two),
            10 => ("register boundary", &mut self.register_boundary),
            11 => ("non-basic fingering", &mut self.non_basic_fingering),
            12 => ("held key", &mut self.held_key_variant),
            13 => ("harmonic", &mut self.harmonic),
            14 => ("other valves", &mut self.other_valves),
            15 => ("position", &mut self.position),
            16 => ("against melody", &mut self.against_melody),
            17 => ("other position", &mut self.other_position),
            18 => ("lesser fingering", &mut self.lesser_fingering),
            19 => ("far position", &mut self.far_position),
            _ => return None,
        })
    }

    /// All prices times a factor.
    #[must_use]
    pub fn scaled(mut self, factor: f64) -> Self {
        for index in 0..Self::COUNT {
            if let Some((_, weight)) = self.nth(index) {
                *weight *= factor;
            }
        }
        self
    }
}
