//! One batch, burnt in one state of the water: the calculation that a plan, a sweep and a choice
//! share; what the heating leaves to burn ([`Heating`]); a run held against it ([`Measured`]).

mod burner;
mod heated;
mod measured;

pub use burner::{
    BurnError, Burner, OtherBurns, StateResult, SurplusFuel, SurplusResult, species_set,
};
pub use heated::{BatchAtIgnition, HeatedBurn, Heating, IgnitedBatch};
pub use measured::{Measured, run_against_estimate};
