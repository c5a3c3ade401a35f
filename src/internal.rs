//! What the program, benches and tests of this package reach beyond the face of the library. No
//! promise of stability.
#![allow(missing_docs)]

pub mod advice {
    pub use crate::advice::{
        BurnFacts, BurnState, Change, MixtureFacts, Observed, Violence, advice, violence, warnings,
        worst,
    };
}
pub mod batch {
    pub mod note {
        pub use crate::batch::note::{run_keys, runs_of_csv, with_run};
    }
}
pub mod burn {
    pub use crate::burn::{BatchAtIgnition, BurnError, Burner, Heating};
}
pub mod choose {
    pub use crate::choose::{Candidate, HazardClass, Verdict};
}
pub mod colour {
    pub use crate::colour::{EmissionBand, Lab, Tristimulus};
}
pub mod compare {
    pub use crate::compare::{Comparison, FactValue};
}
pub mod cooling {
    pub use crate::cooling::{AirChange, cooling};
}
pub mod dissolution {
    pub use crate::dissolution::{ConvertInput, acid_plan};
}
pub mod dope {
    pub use crate::dope::{Counted, DopeError, doped};
}
pub mod enthalpy {
    pub use crate::enthalpy::{reactant_enthalpy, water_states};
}
pub mod expected {
    pub use crate::expected::{CauseName, Expectation, HeatingBasis};
}
pub mod fumes {
    pub use crate::fumes::FumeLoad;
}
pub mod ignition {
    pub use crate::ignition::{
        Chance, Comparison, CoursePoint, Ending, Entrance, Judged, LitPlace, NoIgnition, Reason,
        Slab, Stage, StageName, TRACE_POINTS, course, heating_way, lumped, model_inputs, watts,
    };
}
pub mod judge {
    pub use crate::judge::{Expectation, judgement};
    pub mod decay {
        pub use crate::judge::decay::{Afterglow, Decay, Model};
    }
}
pub mod learn {
    pub use crate::learn::{LearnError, Page, learn};
}
pub mod learned {
    pub use crate::learned::Learned;
}
pub mod next {
    pub use crate::next::{NextError, next};
}
pub mod oxygen {
    pub use crate::oxygen::{BandPlace, dopant_outlook, fields, findings, metal_state};
}
pub mod product {
    pub use crate::product::{ProductError, expected_product};
}
pub mod purity {
    pub use crate::purity::{Budget, Standing, Trace, budget};
}
pub mod recrystallise {
    pub use crate::recrystallise::{
        RecrystalliseError, Recrystallised, Request, crop, recrystallise, share_in_crystals,
    };
}
pub mod redox {
    pub use crate::redox::{OxidationStates, valence};
}
pub mod report {
    #[cfg(not(target_family = "wasm"))]
    pub use crate::report::schema;
    pub use crate::report::{
        CHOOSE_SECTIONS, COMPARE_SECTIONS, CalcineInput, ClassPart, IGNITE_SECTIONS, ListFilter,
        Material, SCREEN_LINES, SCREEN_WIDTH, Shown, VARY_SECTIONS, audit_document, audit_json,
        calcine_document, calcine_json, choice_csv, choice_document, choice_json, class_html,
        compared_csv, compared_document, compared_json, comparison_csv, comparison_document,
        comparison_json, convert_document, convert_json, cooling_paths, couple_lines, course_csv,
        course_document, decimal_comma, doped_document, doped_json, first_screen, fuel_sweep,
        heating_lines, ignite_json, json_text, judged_document, judged_json, lesson_document,
        lesson_json, lesson_picture, list_document, list_json, live_panel, mistakes_json,
        next_document, next_json, peak_text, phase_floor, recrystallised_document,
        recrystallised_json, refusal_json, report_html, series_document, series_json,
        settled_document, settled_json, sheet_csv, sheet_json, significant, subscripts,
        substance_document, substance_json, substance_list, substance_sheets, sweep_csv,
        sweep_document, sweep_json, taking_in, two_ways, water_curve, widest_bands, wish_document,
        wish_json, wrapped,
    };
    pub mod svg {
        pub use crate::report::svg::{
            CoolingPath, CoupleLine, Floor, HeatEntrance, HeatingLine, HeatingStage, Picture,
            WeighingBar, entrance_picture, fuel_ratio_axes, heat_picture, heating_picture,
            oxygen_picture, sweep_picture, trace_picture, weighing_picture,
        };
    }
}
pub mod series {
    pub use crate::series::{Factor, LEARNED, NAMES, Order, Series, SeriesError, series};
}
pub mod source {
    pub use crate::source::{Seen, SourceId};
}
pub mod tables {
    pub use crate::tables::{
        Cited, FamilyError, HazardGroup, HeatCapacityKind, HydrateMethod, LookupError, Phase,
        Reactant, Role, SafetyTables, Shape, Species, State, Vessel,
    };
    pub mod cautions {
        pub use crate::tables::cautions::{Condition, Measure, Rule};
    }
    pub mod glassware {
        pub use crate::tables::glassware::{AccuracyClass, GlasswareKind, Standard};
    }
    pub mod limits {
        pub use crate::tables::limits::{Agent, Concentration, ExposureLimit, LimitKind};
    }
    pub mod known_powders {
        pub use crate::tables::known_powders::{Kind, KnownPowder};
    }
    pub mod phases {
        pub use crate::tables::phases::{Side, TrialOutcome};
    }
    pub mod purity {
        pub use crate::tables::purity::Grade;
    }
    pub mod reactants {
        pub use crate::tables::reactants::{AuditLine, Content, PropertyRow, SolubilityError};
    }
    pub mod unit {
        pub use crate::tables::unit::{DegreeCelsius, KilojoulePerMole};
    }
}
pub mod vessel {
    pub use crate::vessel::{Load, Medium, behaviour, check, open_vessel, terminal_velocity};
}
pub mod visible {
    pub use crate::visible::{visible, visible_lines};
}
pub mod weigh {
    pub use crate::weigh::{
        Calcination, ErrorBand, Measure, Notice, Piece, Weighed, error_bands, standard_uncertainty,
    };
    pub mod dilution {
        pub use crate::weigh::dilution::{Bench, Choice, DilutionError, Wanted, dopant_plan};
    }
}
pub mod wish {
    pub use crate::wish::{Holds, WishError, answer};
}
