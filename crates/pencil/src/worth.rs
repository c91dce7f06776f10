//! How much is a mark worth beside the others? By what it prevents, less for what has been marked before.
//!
//! The rule, ours: a lost way stops the music, so it comes first; then a wrong note; then a hard spot that needs work before
//! playing; then a change that is not seen in time; then a rhythm; then breath; then a fingering; then what only helps to see
//! (look-alikes). A wrong note goes before a wrong colour: nothing is marked for colour alone. The numbers only order
//! marks; differences below a twentieth mean nothing.

/// A leap that is lost: D.C., D.S., coda.
pub(crate) const JUMP: f64 = 0.95;
/// The last beats before a leap that comes late.
pub(crate) const LOOK_AHEAD: f64 = 0.54;
/// A repeat back to a place without a sign, or over a page.
pub(crate) const FAR_REPEAT: f64 = 0.85;
/// A repeat whose signs stand close together.
pub(crate) const REPEAT: f64 = 0.55;
/// The worst spot; each further one a little less.
pub(crate) const SPOT: f64 = 0.92;
/// How much less each further spot is worth.
pub(crate) const NEXT_SPOT: f64 = 0.045;
/// Key, metre and clef.
pub(crate) const CHANGE: f64 = 0.8;
/// A tempo set anew.
pub(crate) const TEMPO: f64 = 0.6;
/// A gradual change of tempo: the words stand on the page for some time.
pub(crate) const GRADUAL: f64 = 0.4;
/// The courtesy needed most (after a tie); each next kind of reason a little less.
pub(crate) const COURTESY: f64 = 0.9;
/// How much less each next kind of reason is worth.
pub(crate) const NEXT_COURTESY: f64 = 0.03;
/// A courtesy that only some readers need.
pub(crate) const GENTLE: f64 = 0.6;
/// A note altered by a sign earlier in the bar.
pub(crate) const CARRIED: f64 = 0.74;
/// The first note of its kind altered from the signature, with its sign printed.
pub(crate) const ALTERED: f64 = 0.48;
/// One letter in two forms right after each other.
pub(crate) const DOUBLE: f64 = 0.78;
/// One letter in two forms, farther apart.
pub(crate) const TWO_FORMS: f64 = 0.58;
/// A spelling that hides another note.
pub(crate) const ENHARMONIC: f64 = 0.72;
/// Beats over a syncopated bar, for the least score; more for greater ones.
pub(crate) const BEATS: f64 = 0.5;
/// Counts under a change of division or an unusual tuplet.
pub(crate) const COUNTS: f64 = 0.68;
/// A breath at the final tempo.
pub(crate) const BREATH: f64 = 0.62;
/// A breath for slow practice.
pub(crate) const SLOW_BREATH: f64 = 0.34;
/// A fingering other than the usual one, where it first comes.
pub(crate) const FINGERING: f64 = 0.56;
/// The fingers of a trill.
pub(crate) const TRILL: f64 = 0.5;
/// A bar that is nearly another: it is played wrong.
pub(crate) const NEARLY: f64 = 0.64;
/// A bar or passage that comes back: less to read.
pub(crate) const AGAIN: f64 = 0.36;

/// What each further mark of the same kind and content keeps of its worth: the second time the reader knows it.
pub(crate) const AGAIN_KEEPS: f64 = 0.7;

/// So much is never lost: a reminder is needed the fifth time, too.
const AT_LEAST_KEEPS: f64 = 0.4;

/// Lets the worth fall for each further item with the same key, in the order given.
pub(crate) fn fall<K: Ord, T>(items: &mut [T], key: impl Fn(&T) -> K, worth: impl Fn(&mut T) -> &mut f64) {
    let mut seen: std::collections::BTreeMap<K, i32> = std::collections::BTreeMap::new();
    for item in items {
        let times = seen.entry(key(item)).or_insert(0);
        *worth(item) *= AGAIN_KEEPS.powi(*times).max(AT_LEAST_KEEPS);
        *times = times.saturating_add(1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lost_way_goes_before_a_wrong_note_before_breath_before_what_only_helps_to_see() {
        let order = [
            JUMP, COURTESY, CHANGE, DOUBLE, CARRIED, ENHARMONIC, COUNTS, BREATH, FINGERING, AGAIN,
        ];
        assert!(order.windows(2).all(|pair| pair[0] > pair[1]));
    }

    #[test]
    fn the_second_of_a_kind_is_worth_less() {
        let mut items = [("a", 1.0), ("b", 1.0), ("a", 1.0)];
        fall(&mut items, |item| item.0, |item| &mut item.1);
        assert_eq!(items, [("a", 1.0), ("b", 1.0), ("a", AGAIN_KEEPS)]);
    }
}
