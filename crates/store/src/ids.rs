//! Which row is meant? Numbers given once by the database, never used again, each kind a type of its own.

use rusqlite::types::{FromSql, FromSqlResult, ToSql, ToSqlOutput, ValueRef};
use serde::{Deserialize, Serialize};
use std::fmt;

macro_rules! ids {
    ($($(#[doc = $doc:literal])+ $name:ident)+) => {$(
        $(#[doc = $doc])+
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub i64);

        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                Ok(self.0.into())
            }
        }
        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                value.as_i64().map(Self)
            }
        }
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }
    )+};
}

ids! {
    /// A piece of the folder.
    PieceId
    /// A player of the studio.
    PlayerId
    /// What a player is working on.
    AssignmentId
    /// A cut of an assignment.
    CutId
    /// A mark of the teacher's pencil.
    MarkId
    /// A choice of hers: a fingering, a breath, a key, an ornament.
    ChoiceId
    /// A gesture that can be undone.
    StepId
    /// A line of the practice log.
    VisitId
    /// A plan.
    PlanId
    /// A call.
    CallId
    /// A day to be ready for.
    OccasionId
    /// One time of looking first.
    LookFirstId
    /// A recording.
    TakeId
    /// A rubric.
    RubricId
    /// What was judged by a rubric.
    JudgementId
    /// A paired device.
    DeviceId
}
