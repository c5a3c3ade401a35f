//! Results as other programs read them: structs with units in the names of their fields. Their
//! comments are the descriptions of the schema.

use crate::quantity::units::gram;
use crate::quantity::{Band, Mass};
use indexmap::IndexMap;
use serde::Serialize;
use serde_json::Value;

/// Version of the JSON fields; it rises when a field changes its meaning or goes away.
pub(super) const SCHEMA_VERSION: u32 = 1;

/// A struct that is written as JSON, and how it comes from a result. Each field stands once: what
/// it is, its name with the unit, its type, and where it comes from. A `result` is what a command
/// writes as a whole: the version of the fields stands first.
macro_rules! view {
    ($(#[$about:meta])* result $name:ident($from:tt: $of:ty) { $($fields:tt)* }) => {
        $crate::report::view::view! {
            $(#[$about])*
            $name($from: $of) {
                /// Version of the fields; it rises when a field changes its meaning or goes away.
                schema_version: u32 = $crate::report::view::SCHEMA_VERSION,
                $($fields)*
            }
        }
    };
    ($(#[$about:meta])* $name:ident($from:tt: $of:ty) {
        $($(#[$what:meta])* $field:ident: $kind:ty = $value:expr,)*
    }) => {
        #[derive(serde::Serialize)]
        #[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
        $(#[$about])*
        pub(in crate::report) struct $name {
            $($(#[$what])* pub $field: $kind,)*
        }

        impl From<$of> for $name {
            fn from($from: $of) -> Self {
                Self { $($field: $value,)* }
            }
        }
    };
}
pub(super) use view;

/// Values by name, in the order of the result.
pub(super) type Named<T> = IndexMap<String, T>;

view! {
    /// From one end to the other.
    Ends(ends: (f64, f64)) {
        /// Lower end.
        low: f64 = ends.0,
        /// Upper end.
        high: f64 = ends.1,
    }
}

view! {
    /// A mass of something.
    NamedMass((name, mass): (&str, Mass)) {
        /// What it is.
        name: String = name.to_owned(),
        /// Mass.
        mass_g: f64 = mass.get::<gram>(),
    }
}

impl From<&(String, Mass)> for NamedMass {
    fn from((name, mass): &(String, Mass)) -> Self {
        Self::from((name.as_str(), *mass))
    }
}

view! {
    /// From one word to another.
    WordEnds(ends: (String, String)) {
        /// Lower end.
        low: String = ends.0,
        /// Upper end.
        high: String = ends.1,
    }
}

/// The ends of a band in one unit.
pub(super) fn ends<Q>(band: Band<Q>, number: impl Fn(Q) -> f64) -> Ends {
    Ends::from((number(band.low), number(band.high)))
}

/// The view of each.
pub(super) fn list<'a, T: 'a, V: From<&'a T>>(items: impl IntoIterator<Item = &'a T>) -> Vec<V> {
    items.into_iter().map(V::from).collect()
}

pub(super) fn json_of(view: impl Serialize) -> Value {
    serde_json::to_value(view).expect("a view has names for keys and no failing field")
}
