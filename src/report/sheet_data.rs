//! The bench sheet as JSON and CSV. Units are in the names; amounts are for one pot.

use super::burn::PurityBudget;
use super::document::{Cell, Table};
use super::sheet::millilitres;
use super::view::{Named, json_of, list, view};
use crate::batch::Target;
use crate::quantity::units::{gram, joule, kelvin, mole, ratio, second};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use crate::weigh::balance::Weighing;
use crate::weigh::bands::{Cause, ErrorBand};
use crate::weigh::dilution::{Dilution, DopantPlan, StockPlan};
use crate::weigh::line::Line;
use crate::weigh::measure::{Drawn, Measure};
use crate::weigh::neighbours::{NeighbourCheck, Split};
use crate::weigh::sheet::{Sheet, WantedShare};
use crate::weigh::water::{WaterAdvice, WaterNeed};
use crate::weigh::water_sheet::{BoilingModel, WaterSheet, WaterTime};
use serde_json::Value;

/// The bench sheet as a JSON value.
pub fn sheet_json(sheet: &Sheet) -> Value {
    json_of(BenchSheet::from(sheet))
}

view! {
    /// What `weigh` writes.
    result BenchSheet(sheet: &Sheet) {
        /// Name of the batch.
        name: String = sheet.batch.name.clone(),
        /// The target; null without one.
        target: Option<SheetTarget> = sheet.batch.target.as_ref().map(SheetTarget::from),
        /// Number of equal pots.
        pots: u32 = sheet.pots,
        /// Lines of the sheet in the order of weighing.
        lines: Vec<SheetLine> = list(&sheet.lines),
        /// Fuel ratio φ: total reducing valence over total oxidising valence.
        equivalence_ratio: WeighedBand = band(&sheet.bands.equivalence_ratio, share),
        /// Mass of powder.
        product_mass_g: WeighedBand = band(&sheet.bands.product_mass, |m| m.get::<gram>()),
        /// Shares of the metals.
        metal_shares: Named<MetalShare> = sheet.metals.iter()
            .map(|wanted| (wanted.metal.symbol().to_owned(), (sheet, wanted).into()))
            .collect(),
        /// Draws.
        samples: usize = sheet.bands.samples.0,
        /// Seed of the draws.
        seed: u64 = sheet.bands.samples.1,
        /// What the spread of the ratio of metals can make; null if not known.
        neighbours: Option<NeighbourPhases> = sheet.neighbours.as_ref().map(NeighbourPhases::from),
        /// Impurities of the powder; null if no bottle states its purity.
        purity: Option<PurityBudget> = sheet.purity.as_ref().map(PurityBudget::from),
        /// What dissolves the batch.
        water: SheetWater = SheetWater::from(&sheet.water),
        /// Notices.
        notices: Vec<String> = sheet.notices.iter().map(ToString::to_string).collect(),
    }
}

fn share(value: Ratio) -> f64 {
    value.get::<ratio>()
}

view! {
    /// The target.
    SheetTarget(target: &Target) {
        /// Formula.
        formula: String = target.formula.to_string(),
        /// Amount.
        amount_mol: f64 = target.amount.get::<mole>(),
    }
}

view! {
    /// Share of a metal in all metals.
    MetalShare((sheet, share_of): (&Sheet, &WantedShare)) {
        /// What is wanted; null without a target.
        wanted: Option<f64> = share_of.wanted.map(share),
        /// What the pot holds; null if unknown.
        in_pot: Option<WeighedBand> =
            sheet.bands.metal_shares.get(&share_of.metal).map(|found| band(found, share)),
    }
}

/// What weighing makes of a value.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
pub(super) struct WeighedBand {
    /// Value for the nominal masses.
    value: f64,
    /// Half width, about two standard deviations.
    half_width: f64,
    /// Lower end of the sample.
    sampled_low: f64,
    /// Upper end of the sample.
    sampled_high: f64,
    /// True if both bands agree.
    bands_agree: bool,
    /// What it comes from, the largest first.
    causes: Vec<WeighedCause>,
}

fn band<Q: Copy>(band: &ErrorBand<Q>, number: impl Fn(Q) -> f64) -> WeighedBand {
    WeighedBand {
        value: number(band.value),
        half_width: number(band.half_width),
        sampled_low: number(band.sampled.0),
        sampled_high: number(band.sampled.1),
        bands_agree: band.agrees,
        causes: list(&band.causes),
    }
}

view! {
    /// A cause of such a band.
    WeighedCause((cause, part): &(Cause, Ratio)) {
        /// The cause.
        cause: String = cause.to_string(),
        /// Its share of the variance.
        variance_share: f64 = share(*part),
    }
}

view! {
    /// The phases that neighbour the target.
    NeighbourPhases(check: &NeighbourCheck) {
        /// The system.
        system: String = check.system.clone(),
        /// Share of the first oxide.
        first_share: WeighedBand = band(&check.band, share),
        /// Phases as weighed.
        nominal: Named<f64> = parts(&check.nominal),
        /// Phases at the lower end.
        low_end: Named<f64> = parts(&check.ends[0]),
        /// Phases at the upper end.
        high_end: Named<f64> = parts(&check.ends[1]),
        /// Compounds inside the band.
        inside_band: Vec<String> = check.inside.clone(),
    }
}

fn parts(split: &Split) -> Named<f64> {
    let part = |(name, part): &(String, Ratio)| (name.clone(), share(*part));
    split.parts.iter().map(part).collect()
}

view! {
    /// The water of the batch.
    SheetWater(water: &WaterSheet) {
        /// Solvent water.
        solvent_g: f64 = water.solvent.get::<gram>(),
        /// Crystal water.
        crystal_g: f64 = water.crystal.get::<gram>(),
        /// Water that stock solutions bring.
        carried_by_stock_ml: f64 = millilitres(water.carried),
        /// At room temperature.
        room: SolventNeed = SolventNeed::from(&water.room),
        /// Warmed.
        warm: SolventNeed = SolventNeed::from(&water.warm),
        /// What to do.
        advice: SolventAdvice = SolventAdvice::from(&water.advice),
        /// Salts that melt in their own water.
        melting_in_own_water: Vec<MeltingSalt> = list(&water.melting),
        /// Boiling point; null if unknown.
        boiling_k: Option<f64> = water.boiling.map(|(t, _)| t.get::<kelvin>()),
        /// How it was found: "sorption" or "ideal".
        boiling_model: Option<&'static str> = water.boiling.map(|(_, model)| match model {
            BoilingModel::Sorption => "sorption",
            BoilingModel::Ideal => "ideal",
        }),
        /// Energy to boil the water off.
        boil_off_energy_j: f64 = water.cost.energy.get::<joule>(),
        /// Times of heating; null without a heating way.
        heating: Option<BoilOffTime> = water.time.as_ref().map(BoilOffTime::from),
    }
}

view! {
    /// A salt that melts in its own water.
    MeltingSalt((name, temperature): &(String, ThermodynamicTemperature)) {
        /// Name.
        name: String = name.clone(),
        /// Temperature.
        temperature_k: f64 = temperature.get::<kelvin>(),
    }
}

view! {
    /// How long the water takes to boil off.
    BoilOffTime(time: &WaterTime) {
        /// The heating way.
        way: String = time.way.clone(),
        /// Time to boiling.
        heat_up_s: f64 = time.heat_up.get::<second>(),
        /// Time to boil off.
        boil_off_s: f64 = time.boil_off.get::<second>(),
    }
}

view! {
    /// Water that dissolves the batch at one temperature.
    SolventNeed(need: &WaterNeed) {
        /// Temperature.
        temperature_k: f64 = need.temperature.get::<kelvin>(),
        /// Least water that dissolves each by itself.
        least_solvent_g: f64 = need.least.get::<gram>(),
        /// Least water if they share it.
        least_solvent_shared_g: f64 = need.least_shared.get::<gram>(),
        /// Share of saturation; null if unknown.
        saturation: Option<f64> = need.saturation.map(share),
        /// The one nearest to saturation; null if unknown.
        nearest: Option<NearestSaturation> = need.nearest.as_ref().map(NearestSaturation::from),
        /// What is not known.
        unknown: Vec<String> = need.unknown.iter().map(ToString::to_string).collect(),
    }
}

view! {
    /// The substance nearest to saturation.
    NearestSaturation((name, part): &(String, Ratio)) {
        /// Name.
        name: String = name.clone(),
        /// Share of saturation.
        saturation: f64 = share(*part),
    }
}

/// What to do about the water.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(tag = "kind")]
pub(super) enum SolventAdvice {
    /// All dissolves at room temperature.
    #[serde(rename = "dissolves cold")]
    DissolvesCold,
    /// It dissolves warm only.
    #[serde(rename = "warm and go on")]
    WarmAndGoOn {
        /// Water with which it would stay dissolved at room temperature.
        enough_solvent_g: f64,
        /// What crystallises first on cooling; null if unknown.
        crystallises_first: Option<String>,
    },
    /// Even warm there is too little water.
    #[serde(rename = "add water")]
    AddWater {
        /// Water that is needed warm.
        enough_solvent_g: f64,
    },
}

impl From<&WaterAdvice> for SolventAdvice {
    fn from(advice: &WaterAdvice) -> Self {
        match advice {
            WaterAdvice::DissolvesCold => Self::DissolvesCold,
            WaterAdvice::WarmAndGoOn { enough, first } => Self::WarmAndGoOn {
                enough_solvent_g: enough.get::<gram>(),
                crystallises_first: first.clone(),
            },
            WaterAdvice::AddWater { enough } => Self::AddWater {
                enough_solvent_g: enough.get::<gram>(),
            },
        }
    }
}

view! {
    /// A line of the sheet.
    SheetLine(line: &Line) {
        /// Step.
        step: usize = line.step,
        /// Name, as in the tables.
        name: String = line.ingredient.reactant.name.clone(),
        /// Formula, crystal water last.
        formula: String = line.ingredient.reactant.formula.to_string(),
        /// What it does in the batch: oxidiser, fuel, solvent …
        role: String = line.ingredient.reactant.role.to_string(),
        /// True for a dopant.
        is_dopant: bool = line.is_dopant,
        /// Share by mass that is the substance.
        assay: f64 = share(line.ingredient.assay),
        /// Amount.
        amount_mol: f64 = line.ingredient.amount.get::<mole>(),
        /// Mass.
        mass_g: f64 = line.ingredient.mass.get::<gram>(),
        /// How it is measured.
        measure: HowMeasured = HowMeasured::from(&line.measure),
        /// Relative error.
        relative_error: f64 = share(line.relative_error),
        /// Mass in the pot so far.
        running_total_g: f64 = line.running_total.get::<gram>(),
    }
}

/// How an ingredient is measured.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(rename_all = "snake_case")]
pub(super) enum HowMeasured {
    /// Weighed.
    Weigh(WeighedOn),
    /// Drawn by volume.
    Draw(DrawnWith),
    /// Taken as a stock solution, or the ways to it.
    StockSolution(Box<StockWays>),
}

impl From<&Measure> for HowMeasured {
    fn from(measure: &Measure) -> Self {
        match measure {
            Measure::Weigh(weighing) => Self::Weigh(weighing.into()),
            Measure::Draw(drawn) => Self::Draw(drawn.into()),
            Measure::Stock(plan) => Self::StockSolution(Box::new((&**plan).into())),
        }
    }
}

view! {
    /// A weighing.
    WeighedOn(weighing: &Weighing) {
        /// Mass.
        mass_g: f64 = weighing.mass.get::<gram>(),
        /// The balance.
        balance: String = weighing.balance.clone(),
        /// Readability.
        readability_g: f64 = weighing.readability.get::<gram>(),
        /// Standard uncertainty.
        standard_uncertainty_g: f64 = weighing.standard_uncertainty.get::<gram>(),
        /// Minimum weight.
        minimum_weight_g: f64 = weighing.minimum_weight.get::<gram>(),
        /// True below the minimum weight.
        below_minimum: bool = weighing.is_below_minimum(),
    }
}

view! {
    /// A volume that is drawn.
    DrawnWith(drawn: &Drawn) {
        /// Volume.
        volume_ml: f64 = millilitres(drawn.volume),
        /// With what.
        with: String = drawn.kind.to_string(),
        /// Nominal volume.
        nominal_ml: f64 = millilitres(drawn.nominal),
        /// How many times.
        fillings: u32 = drawn.fillings,
        /// Standard uncertainty.
        standard_uncertainty_ml: f64 = millilitres(drawn.standard_uncertainty),
        /// True if the glassware was assumed.
        assumed: bool = drawn.assumed,
    }
}

view! {
    /// The ways to a small amount.
    StockWays(plan: &DopantPlan) {
        /// Weighed directly.
        direct: WeighedOn = WeighedOn::from(&plan.direct),
        /// The stock solution; null without one.
        stock: Option<StockMade> = plan.stock.as_ref().map(StockMade::from),
        /// Best stock by one dilution; null if none serves.
        best_single: Option<StockMade> = plan.best_single.as_ref().map(StockMade::from),
        /// Best stock by several; null if none serves.
        best_serial: Option<StockMade> = plan.best_serial.as_ref().map(StockMade::from),
    }
}

view! {
    /// A stock solution.
    StockMade(stock: &StockPlan) {
        /// The weighing.
        weighing: WeighedOn = WeighedOn::from(&stock.weighing),
        /// The dilutions.
        dilutions: Vec<DilutionStep> = list(&stock.dilutions),
        /// Relative error.
        relative_error: f64 = share(stock.relative_error),
        /// Steps by hand.
        operations: usize = stock.operations(),
        /// Volume of solution that it brings.
        carried_ml: f64 = millilitres(stock.carried_volume()),
    }
}

view! {
    /// A dilution.
    DilutionStep(dilution: &Dilution) {
        /// Flask.
        flask_ml: f64 = millilitres(dilution.flask),
        /// Volume taken of it.
        aliquot_ml: f64 = millilitres(dilution.aliquot.volume()),
        /// With what.
        with: String = dilution.aliquot.kind.to_string(),
        /// Nominal volume.
        nominal_ml: f64 = millilitres(dilution.aliquot.nominal),
        /// How many times.
        fillings: u32 = dilution.aliquot.fillings,
    }
}

/// Heads of the sheet's CSV.
const CSV_HEAD: [&str; 13] = [
    "step",
    "name",
    "formula",
    "role",
    "assay",
    "amount_mol",
    "mass_g",
    "take",
    "with",
    "volume_ml",
    "relative_error",
    "below_minimum",
    "running_total_g",
];

/// The lines of the sheet as CSV, with a line of heads.
pub fn sheet_csv(sheet: &Sheet) -> String {
    let mut table = Table::new("Bench sheet", CSV_HEAD);
    for line in &sheet.lines {
        table.row(csv_row(line));
    }
    table.csv()
}

fn csv_row(line: &Line) -> [Cell; 13] {
    let ingredient = &line.ingredient;
    let volume = |volume| Cell::plain(millilitres(volume));
    let (take, with, volume, below) = match &line.measure {
        Measure::Weigh(weighing) => (
            "weigh",
            weighing.balance.clone(),
            Cell::Absent,
            weighing.is_below_minimum(),
        ),
        Measure::Draw(drawn) => ("draw", drawn.kind.to_string(), volume(drawn.volume), false),
        Measure::Stock(plan) => match &plan.stock {
            Some(stock) => (
                "stock solution",
                stock.weighing.balance.clone(),
                volume(stock.carried_volume()),
                false,
            ),
            None => ("weigh", plan.direct.balance.clone(), Cell::Absent, true),
        },
    };
    [
        line.step.to_string().into(),
        ingredient.reactant.name.clone().into(),
        ingredient.reactant.formula.to_string().into(),
        ingredient.reactant.role.to_string().into(),
        Cell::plain(ingredient.assay.get::<ratio>()),
        Cell::plain(ingredient.amount.get::<mole>()),
        Cell::plain(ingredient.mass.get::<gram>()),
        take.into(),
        with.into(),
        volume,
        Cell::plain(line.relative_error.get::<ratio>()),
        below.to_string().into(),
        Cell::plain(line.running_total.get::<gram>()),
    ]
}
