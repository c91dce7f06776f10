//! What do we keep? Pieces with their files as they came, players, the teacher's pencil, the practice log, takes, all in one home.
//!
//! Whatever a call of [`Store`] has confirmed by returning survives a kill or a power cut at any later moment. Rows are plain
//! values; documents of other crates (a survey, a plan, what was heard) are kept as the JSON text that they came as.
//!
//! A store may be shared between threads (`Arc<Store>`); calls take milliseconds, but they touch the disk: an async program makes
//! them on a blocking thread.
//!
//! ```
//! use store::{Bars, NewMark, NewPiece, PieceSearch, Store};
//!
//! let home = std::env::temp_dir().join(format!("foreread-store-example-{}", std::process::id()));
//! let store = Store::open_empty(&home)?; // `Store::open` lays the demo studio in at first start
//!
//! // A second start on the same home is refused, kindly.
//! assert!(Store::open(&home).is_err());
//!
//! // A piece is its file as it came, and what is said about it.
//! let added = store.add_piece(&NewPiece {
//!     title: "Evening Air".to_owned(),
//!     file_name: "evening.abc".to_owned(),
//!     bytes: b"X:1\nK:C\nC D E F|G4|".to_vec(),
//!     ..NewPiece::default()
//! })?;
//! store.set_purpose(added.id, "for reading leaps by ear")?;
//! assert_eq!(store.pieces(&PieceSearch::words("LEAPS"))?.len(), 1);
//!
//! // The teacher's pencil holds on to notes; every gesture can be undone and done again.
//! let music = notation::sketch("C4/q D4/q E4/q F4/q | G4/w |").unwrap();
//! let bars = Bars::of(&music, 0);
//! let e4 = bars.hold(0, notation::Quarters::whole(2), notation::Pitch::parse("E4")).unwrap();
//! let mark = store.add_mark(added.id, &NewMark::at("circle", e4))?;
//! store.undo(added.id)?;
//! assert!(store.marks(added.id, None)?.is_empty());
//! store.redo(added.id)?;
//! assert_eq!(store.marks(added.id, None)?[0].id, mark.id);
//!
//! // A corrected file: marks go with their notes, and what could not be placed is said and kept.
//! let corrected = notation::sketch("B3/w | C4/q D4/q E4/q F4/q | G4/w |").unwrap();
//! let file = store::NewFile { file_name: "evening-2.abc".to_owned(), bytes: b"...".to_vec() };
//! let replaced = store.replace_file(added.id, &file, &bars, &Bars::of(&corrected, 0))?;
//! assert_eq!(store.marks(added.id, None)?[0].from.bar, 1);
//! assert!(replaced.unplaced().next().is_none());
//! # drop(store);
//! # std::fs::remove_dir_all(&home).unwrap();
//! # Ok::<(), store::StoreError>(())
//! ```

mod backup;
mod bars;
mod database;
mod demo;
mod error;
mod export;
mod files;
mod home;
mod ids;
mod restore;
mod rows;
mod steps;
mod store;

pub use backup::{BackedUp, MANIFEST};
pub use bars::{Bars, Carried, Fate, Found, Hold, carry};
pub use error::{StoreError, Trouble};
pub use export::Exported;
pub use home::default_home;
pub use ids::{
    AssignmentId, CallId, ChoiceId, CutId, DeviceId, JudgementId, LookFirstId, MarkId, OccasionId, PieceId,
    PlanId, PlayerId, RubricId, StepId, TakeId, VisitId,
};
pub use restore::{Over, Restored, restore};
pub use rows::{
    AssignmentRow, CallRow, ChoiceRow, CutRow, DeviceRow, JudgementRow, Level, LookFirstRow, MarkAct,
    MarkRow, Miss, Missed, NewAssignment, NewCall, NewChoice, NewCut, NewFile, NewLookFirst, NewMark,
    NewOccasion, NewPaper, NewPiece, NewPlan, NewTake, NewVisit, OccasionRow, Ours, PaperEditRow, PaperRow,
    PieceRow, PieceSearch, PlanRow, PlayerFingering, PlayerProfile, PlayerRange, PlayerRow, RubricRow,
    Summary, TakeRow, VersionRow, VisitRow,
};
pub use steps::{Edit, Replaced, ReplacedRow, SITTING_MINUTES, StepRow};
pub use store::Store;

pub(crate) use store::{begin, now};
