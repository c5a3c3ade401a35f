//! What the heat models see of a batch: masses, heat capacities, reaction, layer. Coherent SI.

use super::boiling::{BoilingCurve, Sorption, Water};
use super::leaving::Leaving;
use super::thermal_explosion::SelfHeating;
use crate::quantity::GAS_CONSTANT;
use crate::tables::kinetics::FUEL_STEPS;

/// One-step, first-order reaction of the dry gel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reaction {
    /// Activation energy, J/mol.
    pub activation_energy: f64,
    /// Pre-exponential factor, 1/s.
    pub pre_exponential: f64,
    /// Temperature of the measured peak that the factor was tied to, K.
    pub peak: f64,
    /// Heat released per kilogram of dry gel, J/kg, at the reference temperature, water as steam.
    pub heat: f64,
    /// Share of the dry mass that leaves as gas.
    pub gas_fraction: f64,
    /// Mean heat capacity of that gas, J/(kg K).
    pub gas_heat_capacity: f64,
    /// Heat capacity of what stays, J/(kg K).
    pub product_heat_capacity: f64,
    /// Equivalence ratio of the batch as weighed.
    pub equivalence_ratio: f64,
}

/// A fuel that leaves by decomposition before it burns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FuelLoss {
    /// Share of the batch's reducing valence that it carries.
    pub valence_share: f64,
    /// Share of the dry mass that it is.
    pub mass_share: f64,
    /// Free and held part, step by step.
    pub leaving: Leaving,
    /// Its steps, in their order.
    pub steps: [LossStep; FUEL_STEPS],
}

/// A step of a fuel's decomposition.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LossStep {
    /// Part of the whole decomposition; 0 for none.
    pub span: f64,
    /// Heat that it takes, J per kg of this fuel.
    pub heat: f64,
    /// Share of the fuel's valence that leaves in it as gas; the rest stays as less volatile fuel.
    pub escape_share: f64,
    /// Part of that heat that stays in what does not leave, J per kg of this fuel: the burn gives
    /// it back.
    pub stored: f64,
}

impl FuelLoss {
    /// How far each step has come once the share `gone` of the whole decomposition has.
    pub fn progress(&self, gone: f64) -> [f64; FUEL_STEPS] {
        let mut progress = [0.0; FUEL_STEPS];
        let mut start = 0.0;
        for (done, step) in progress.iter_mut().zip(&self.steps) {
            if gone <= start {
                break;
            }
            if step.span > 0.0 {
                *done = ((gone - start) / step.span).min(1.0);
            }
            start += step.span;
        }
        progress
    }

    /// What has come of it by then.
    fn so_far(&self, gone: f64) -> Decomposed {
        let mut sum = Decomposed::default();
        for (step, done) in self.steps.iter().zip(self.progress(gone)) {
            sum.escaped += self.valence_share * step.escape_share * done;
            sum.taken += self.mass_share * step.heat * done;
            sum.stored += self.mass_share * step.stored * done;
        }
        sum
    }
}

/// What the decomposition of a fuel has come to.
#[derive(Debug, Clone, Copy, Default)]
struct Decomposed {
    /// Share of the batch's reducing valence that has left as gas.
    escaped: f64,
    /// Heat that it has taken, J per kg dry mass.
    taken: f64,
    /// Part of that heat that stays in what does not leave.
    stored: f64,
}

/// What the losses have left of a part of the gel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    /// Share of the batch's reducing valence that has left as gas.
    pub escaped: f64,
    /// Heat (J per kg dry mass) that the decomposition of the fuel has taken.
    pub taken: f64,
    /// Reaction heat of what is left, J per kg dry mass.
    pub reaction_heat: f64,
}

/// Nitrate that leaves as nitric acid or nitrogen oxides before the gel burns.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct NitrateLoss {
    /// Share of the oxidising valence that the nitrate carries.
    pub valence_share: f64,
    /// The metals' nitrates, those that go first standing first.
    pub leaving: Leaving,
    /// Heat that the loss of all nitrate takes, J per kg dry mass.
    pub heat: f64,
    /// Part of it that its gases do not carry off, J per kg dry mass: what surplus nitrate would take
    /// in the burn.
    pub stored: f64,
}

/// Loss of water from the set gel below its boiling curve, of first order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drying {
    /// Activation energy, J/mol.
    pub activation_energy: f64,
    /// Pre-exponential factor, 1/s.
    pub pre_exponential: f64,
}

impl Drying {
    /// Rate constant at `t` (K), 1/s.
    pub fn rate(&self, t: f64) -> f64 {
        self.pre_exponential * (-self.activation_energy / (GAS_CONSTANT * t)).exp()
    }
}

/// The layer of gel in its vessel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gel {
    /// Bulk density of the dry gel with its froth, kg/m³.
    pub density: f64,
    /// Thermal conductivity of the dry gel with its froth, W/(m K).
    pub thermal_conductivity: f64,
    /// Thermal conductivity of the syrup, W/(m K).
    pub syrup_conductivity: f64,
    /// Water per dry mass under which the syrup no longer stirs itself, kg/kg.
    pub set_water: f64,
}

/// A batch in its vessel before it is heated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charge {
    /// Mass of salts and fuel without any water, kg.
    pub dry_mass: f64,
    /// Mass of the solvent water, kg.
    pub free_water: f64,
    /// Mass of the water of crystallisation, kg.
    pub hydrate_water: f64,
    /// Heat capacity of the dry mass, J/(kg K).
    pub dry_heat_capacity: f64,
    /// Properties of water.
    pub water: Water,
    /// What holds the water.
    pub sorption: Sorption,
    pub reaction: Reaction,
    /// The fuel that may leave, if any.
    pub fuel_loss: Option<FuelLoss>,
    /// The nitrate that may leave.
    pub nitrate_loss: NitrateLoss,
    /// How the set gel dries.
    pub drying: Drying,
    pub gel: Gel,
    /// Area of the layer, m².
    pub area: f64,
    /// Temperature at the start, K.
    pub start_temperature: f64,
    /// Temperature of the room, K.
    pub room_temperature: f64,
    /// Pressure of the room, Pa.
    pub pressure: f64,
}

impl Charge {
    /// Water per dry mass at the start, kg/kg.
    pub fn initial_water(&self) -> f64 {
        (self.free_water + self.hydrate_water) / self.dry_mass
    }

    /// Water of crystallisation per dry mass, kg/kg.
    pub fn hydrate_ratio(&self) -> f64 {
        self.hydrate_water / self.dry_mass
    }

    /// Share of the water that has to go before the gel sets that has gone at `w` (kg per kg dry
    /// mass): how far the froth has risen. Assumed: bubbles stay in the thicker the syrup is, so the
    /// froth rises in a straight line with the water that has left, from the level of the solution to
    /// that of the set gel.
    pub fn boiled(&self, w: f64) -> f64 {
        let first = self.initial_water();
        let span = first - self.gel.set_water.min(first);
        if span > 0.0 {
            ((first - w) / span).clamp(0.0, 1.0)
        } else {
            1.0
        }
    }

    /// Dry mass over the area, kg/m².
    pub fn areal_mass(&self) -> f64 {
        self.dry_mass / self.area
    }

    /// Depth of the dry gel, m.
    pub fn dry_depth(&self) -> f64 {
        self.areal_mass() / self.gel.density
    }

    pub fn boiling_curve(&self) -> BoilingCurve {
        BoilingCurve {
            water: self.water,
            sorption: self.sorption,
            pressure: self.pressure,
        }
    }

    /// The gel as a self-heating body.
    pub fn self_heating(&self) -> SelfHeating {
        SelfHeating {
            activation_energy: self.reaction.activation_energy,
            pre_exponential: self.reaction.pre_exponential,
            reaction_heat: self.reaction.heat,
            density: self.gel.density,
            thermal_conductivity: self.gel.thermal_conductivity,
        }
    }

    /// Share of the batch's reducing valence that has left as gas once `lost` (0 to 1) of the
    /// decomposition of the volatile fuel is through.
    pub fn escaped(&self, lost: f64) -> f64 {
        self.decomposed(lost).escaped
    }

    fn decomposed(&self, lost: f64) -> Decomposed {
        let loss = self.fuel_loss.as_ref();
        loss.map_or_else(Decomposed::default, |loss| loss.so_far(lost))
    }

    /// Share of the oxidising valence that is left after `nitrate` (0 to 1) of the nitrate left.
    pub fn oxidiser_left(&self, nitrate: f64) -> f64 {
        1.0 - self.nitrate_loss.valence_share * nitrate
    }

    /// Share of the reaction heat that is left then: the lesser of fuel and oxidiser sets the heat.
    pub fn heat_share(&self, lost: f64, nitrate: f64) -> f64 {
        let before = self.reaction.equivalence_ratio;
        let (fuel, oxidiser) = (1.0 - self.escaped(lost), self.oxidiser_left(nitrate));
        (before * fuel).min(oxidiser) / before.min(1.0)
    }

    /// Heat (J per kg dry mass) that the steps of the volatile fuel have stored in what stays of it
    /// once `lost` of its decomposition is through.
    pub fn stored_heat(&self, lost: f64) -> f64 {
        self.decomposed(lost).stored
    }

    /// What the losses have left of fuel and heat once `lost` of the decomposition of the volatile
    /// fuel is through and `nitrate` of the nitrate has left.
    pub fn left(&self, lost: f64, nitrate: f64) -> Left {
        let fuel = self.decomposed(lost);
        Left {
            escaped: fuel.escaped,
            taken: fuel.taken,
            reaction_heat: self.heat_after(fuel, nitrate),
        }
    }

    /// Reaction heat (J per kg dry mass) of what is left then: fuel and oxidiser burn as far as the
    /// lesser of them goes, surplus nitrate takes the heat of its decomposition, and the stored heat
    /// of the fuel that finds oxidiser comes back. So heat that nitrate took on leaving is gone with
    /// its gases or no longer taken in the burn (Hess's law).
    pub fn heat_left(&self, lost: f64, nitrate: f64) -> f64 {
        self.heat_after(self.decomposed(lost), nitrate)
    }

    fn heat_after(&self, fuel: Decomposed, nitrate: f64) -> f64 {
        let stored = fuel.stored;
        let before = self.reaction.equivalence_ratio;
        let (fuel, oxidiser) = (before * (1.0 - fuel.escaped), self.oxidiser_left(nitrate));
        let salt = &self.nitrate_loss;
        // Per unit of oxidising valence.
        let taken = if salt.valence_share > 0.0 {
            salt.stored / salt.valence_share
        } else {
            0.0
        };
        let burning = (self.reaction.heat + taken * (1.0 - before).max(0.0)) / before.min(1.0);
        let burns = (oxidiser / fuel.max(1e-9)).min(1.0);
        burning * fuel.min(oxidiser) - taken * (oxidiser - fuel).max(0.0) + burns * stored
    }

    /// Heat (J per kg dry mass) that the decomposition of the volatile fuel has taken once `lost`
    /// of it is through.
    pub fn fuel_loss_heat(&self, lost: f64) -> f64 {
        self.decomposed(lost).taken
    }

    /// Temperature rise (K) of the dry gel that burns with all its heat kept, gas included.
    pub fn adiabatic_rise(&self) -> f64 {
        let r = &self.reaction;
        r.heat
            / (r.gas_fraction * r.gas_heat_capacity
                + (1.0 - r.gas_fraction) * r.product_heat_capacity)
    }
}

impl Reaction {
    /// Rate constant at `t` (K), 1/s.
    pub fn rate(&self, t: f64) -> f64 {
        self.pre_exponential * (-self.activation_energy / (GAS_CONSTANT * t)).exp()
    }
}

/// The floor of the vessel under the layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// Thickness, m.
    pub thickness: f64,
    /// Thermal conductivity, W/(m K).
    pub thermal_conductivity: f64,
    /// Heat capacity per volume, J/(m³ K).
    pub volumetric_heat_capacity: f64,
    /// Heat-transfer coefficient from the wall into the boiling liquid, W/(m² K).
    pub boiling_transfer: f64,
}

/// One face of the vessel, as the heating way treats it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Heat-transfer coefficient to the source (contact, convection), W/(m² K).
    pub transfer: f64,
    /// Effective emissivity of the exchange with the source.
    pub emissivity: f64,
    /// Temperature of the source once it is steady, K.
    pub source: f64,
    /// How far the source is below that when heating starts, K.
    pub drop: f64,
    /// Time constant with which the drop dies away, s; zero for none.
    pub recovery: f64,
    /// Largest flux the source can give, W/m²; infinite if not limited.
    pub largest_flux: f64,
    /// Radiation absorbed beside that (lamp), W/m².
    pub imposed_flux: f64,
}

/// Stefan–Boltzmann constant, W/(m² K⁴) (exact in the SI of 2019 to the digits given).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

impl Face {
    /// Temperature of the source at time `t` (s), K.
    pub fn source_at(&self, t: f64) -> f64 {
        if self.recovery > 0.0 {
            self.source - self.drop * (-t / self.recovery).exp()
        } else {
            self.source
        }
    }

    /// Heat-transfer coefficient, radiation included, between source and a face at `face` (K).
    pub fn total_transfer(&self, source: f64, face: f64) -> f64 {
        let radiative =
            self.emissivity * STEFAN_BOLTZMANN * (source * source + face * face) * (source + face);
        self.transfer + radiative
    }
}

/// How the froth enlarges what takes up heat, over the level of the solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Growth {
    /// Wetted wall under the heating way's face below, once the gel has set.
    pub bottom: f64,
    /// Free surface then.
    pub top: f64,
}

impl Growth {
    /// No froth beyond the level of the solution.
    pub const NONE: Self = Self {
        bottom: 1.0,
        top: 1.0,
    };

    /// Factors on the faces below and above once the share `boiled` (0 to 1) of the water that has to
    /// go before the gel sets has gone.
    pub fn at(&self, boiled: f64) -> [f64; 2] {
        [self.bottom, self.top].map(|last| 1.0 + (last - 1.0) * boiled)
    }
}

/// A heating way as the heat models see it.
#[derive(Debug, Clone, PartialEq)]
pub struct Heater {
    /// Under the vessel's floor.
    pub bottom: Face,
    /// Over the layer.
    pub top: Face,
    /// How both faces grow with the froth.
    pub growth: Growth,
    /// The microwave oven, if it is one.
    pub oven: Option<super::microwave::Oven>,
    /// Heat of evaporation per area and per difference of steam pressure, W/(m² Pa).
    pub evaporation: f64,
    /// Steam pressure of the air over the liquid, Pa.
    pub air_steam: f64,
}

impl Heater {
    /// Heat (W/m²) that evaporation takes from a free surface whose steam has `pressure` (Pa).
    ///
    /// Linear in the difference of pressures, as in W. H. Carrier's equation for open water.
    pub fn evaporation_flux(&self, pressure: f64) -> f64 {
        self.evaporation * (pressure - self.air_steam).max(0.0)
    }
}
