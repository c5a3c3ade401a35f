//! Every test of the package in one binary: one build, one link.
#![allow(clippy::unwrap_used)]

mod agreement;
mod common;

mod bad_input;
mod burns;
mod choose;
mod cli;
mod cli_settle;
mod compare;
mod equilibrium;
mod equilibrium_constants;
mod equilibrium_laws;
mod equilibrium_minimiser;
mod equilibrium_oxygen;
mod equilibrium_random;
mod expected;
mod faults;
mod first_burn;
mod first_screen;
mod golden;
mod heating_batches;
mod ignition;
mod ignition_observations;
mod judge;
mod laws;
mod nbs;
mod note;
mod once_broken;
mod pictures;
mod reactant_rows;
mod reactants;
mod refusals_everywhere;
mod refused_substances;
mod safety_laws;
mod safety_refusals;
mod safety_rules;
mod safety_tables;
mod species_values;
mod tables;
mod twins;
mod user_tables;
mod vary;
mod weigh;
mod weigh_cli;
mod weigh_laws;
