//! Finding a reactant by formula, name, other name or registry number.

use super::error::LookupError;
use super::reactant::{Reactant, Role, State};
use super::spelling::{from_label, normalized, same_atoms, stem, without_state};
use super::strength::Strength;
use super::{Reactants, check};
use crate::formula::Formula;
use crate::names::distance_within;
use crate::quantity::Ratio;
use crate::quantity::units::percent;

/// Most close matches that an error lists.
const MOST_SUGGESTIONS: usize = 6;

/// Ligands as chemists abbreviate them in formulas, and what they stand for.
const LIGANDS: [(&str, &str); 7] = [
    ("OAc", "C2H3O2"),
    ("OiPr", "OC3H7"),
    ("OPr", "OC3H7"),
    ("OBu", "OC4H9"),
    ("OEt", "OC2H5"),
    ("OMe", "OCH3"),
    ("acac", "C5H7O2"),
];

/// The text with its abbreviated ligands written out, if it then is a formula.
fn written_out(text: &str) -> Option<String> {
    let mut out = text.trim().to_owned();
    for (short, long) in LIGANDS {
        if out.contains(short) {
            out = out.replace(short, long);
        }
    }
    if let Some(at) = out.find("Ac").filter(|at| *at > 0) {
        // behind its cation it is acetate, not actinium
        let salt = out[..at].trim_end_matches('(');
        if Formula::parse(salt).is_ok() && !out[at + 2..].starts_with(char::is_lowercase) {
            out.replace_range(at..at + 2, "C2H3O2");
        }
    }
    let changed = out != text.trim();
    (changed && Formula::parse_with_water(&out, 1.0).is_ok()).then_some(out)
}

impl Reactants {
    /// The reactant of this formula (hydrate dot `·`, `.` or `*`), name, other name, registry
    /// number or id; case does not count, and both spellings of aluminium are known.
    ///
    /// A name that leaves the hydrate open ("aluminium nitrate") takes the hydrate that is sold,
    /// where one alone is. Where several are ("copper nitrate"), or where a formula is that of
    /// several substances, the error lists what fits: the hydrate decides what to weigh.
    pub fn find(&self, text: &str) -> Result<&Reactant, LookupError> {
        let text = &from_label(text);
        let wanted = normalized(text);
        if let Some(row) = self.by_name(&wanted) {
            return Ok(row);
        }
        if let Some(formula) = written_out(text) {
            return self.find(&formula);
        }
        if let Some(reason) = self.refusal(text) {
            return Err(LookupError::Refused {
                name: text.trim().to_owned(),
                reason,
            });
        }
        if let Some(found) = self.by_formula(text) {
            return found;
        }
        if let Some(row) = self.by_state(&wanted).or_else(|| self.usual_hydrate(text)) {
            return Ok(row);
        }
        if let Some(row) = self.by_name_and_formula(text) {
            return Ok(row);
        }
        self.open_hydrate(text, &wanted)?;
        if let Some(row) = self.solution_named(text) {
            return Err(LookupError::StrengthUnknown {
                name: text.clone(),
                known: vec![row.name.clone()],
            });
        }
        if wanted == "nitric acid" {
            return Err(LookupError::Ambiguous {
                name: wanted,
                candidates: vec![
                    "nitric acid, 65 %".to_owned(),
                    "nitric acid, pure".to_owned(),
                ],
                ask: "give its strength by mass, such as \"nitric acid 65 %\"",
            });
        }
        Err(LookupError::NotFound {
            name: text.trim().to_owned(),
            close: self.close_matches(&wanted),
        })
    }

    /// Like [`Self::find`], but also makes what no row holds: a hydrate with the `water` that the
    /// certificate states (for `·xH2O`, or in place of the water of the row found), a hydrate
    /// between or beyond the tabulated ones, nitric acid of any strength
    /// (`"nitric acid 68 %"`), and solutions of salts (`"Mn(NO3)2 50 %"`).
    ///
    /// # Examples
    /// ```
    /// use emberpot::Tables;
    /// let tables = Tables::built_in().unwrap();
    /// let salt = tables.reactants.resolve("Y(NO3)3·xH2O", Some(5.3)).unwrap();
    /// assert!((salt.formula.crystal_water() - 5.3).abs() < 1e-12);
    /// ```
    pub fn resolve(&self, text: &str, water: Option<f64>) -> Result<Reactant, LookupError> {
        let text = &from_label(text);
        if let Some(found) = self.acid_of_strength(text) {
            return found;
        }
        let out = written_out(text);
        let text = out.as_deref().unwrap_or(text);
        let named = self.by_name(&normalized(text)).is_some() || self.refusal(text).is_some();
        if let Some(found) = self.of_strength(text).filter(|_| !named) {
            return found;
        }
        if let Some(purity) = self.purity(text).filter(|_| !named) {
            return Err(purity);
        }
        let (row, water) = match self.find(text) {
            Ok(row) => (row, water),
            Err(error @ LookupError::Refused { .. }) => return Err(error),
            Err(error) => match self.untabulated_hydrate(text, water) {
                Some((row, water)) => (row, Some(water)),
                None => return Err(error),
            },
        };
        match water {
            None => Ok(row.clone()),
            Some(n) => Ok(self.with_water(row, n)?),
        }
    }

    /// A row of the same salt, and the water asked for.
    fn untabulated_hydrate(&self, text: &str, water: Option<f64>) -> Option<(&Reactant, f64)> {
        let formula = match (Formula::parse(text.trim()), water) {
            (Ok(formula), _) => formula,
            (Err(_), Some(n)) => Formula::parse_with_water(text.trim(), n).ok()?,
            (Err(_), None) => return None,
        };
        let salt = formula.anhydrous();
        let row = self
            .iter()
            .filter(|r| r.role != Role::Fuel && r.role != Role::Acid && r.state != State::Solution)
            .find(|r| r.formula.anhydrous().amounts() == salt.amounts())?;
        Some((row, water.unwrap_or(formula.crystal_water())))
    }

    /// `"nitric acid 68 %"`, `"HNO3 65%"`.
    fn acid_of_strength(&self, text: &str) -> Option<Result<Reactant, LookupError>> {
        let name = normalized(text);
        let rest = name
            .strip_prefix("nitric acid")
            .or_else(|| name.strip_prefix("hno3"))?;
        let number = rest
            .trim_matches([' ', ',', '('])
            .trim_end_matches([')', ' '])
            .strip_suffix('%')?
            .trim();
        let strength = Ratio::new::<percent>(number.parse::<f64>().ok()?);
        let acid = self.nitric_acid()?;
        Some(acid.solution(strength).map_err(LookupError::from))
    }

    /// Why a substance is refused, by name or formula, or `None` if it is not.
    pub fn refusal(&self, text: &str) -> Option<String> {
        let text = &from_label(text);
        if self.by_name(&normalized(text)).is_some() {
            return None;
        }
        let out = written_out(text);
        let text = out.as_deref().unwrap_or(text);
        let in_solution = || self.refused.reason(Strength::read(text)?.of);
        self.refused.reason(text).or_else(in_solution)
    }

    fn by_name(&self, wanted: &str) -> Option<&Reactant> {
        if check::is_cas_number(wanted) {
            return self.iter().find(|r| r.cas.as_deref() == Some(wanted));
        }
        // a spelling that several rows share, such as an isomer's formula, is left to `by_formula`
        match self.spellings.get(wanted)?[..] {
            [at] => self.rows.get(at).map(|slot| self.reactant(slot)),
            _ => None,
        }
    }

    /// A name that tells the oxidation state where the row does not, or the other way round:
    /// "aluminium(III) nitrate nonahydrate", "tin chloride dihydrate".
    fn by_state(&self, wanted: &str) -> Option<&Reactant> {
        let (asked, state) = without_state(wanted);
        let fits = |(name, _): &(&String, _)| {
            let (bare, its_state) = without_state(name);
            bare == asked && (state.is_none() || its_state.is_none())
        };
        let rows = self
            .spellings
            .iter()
            .filter(fits)
            .flat_map(|(_, rows)| rows);
        let mut rows = rows.filter_map(|at| Some(self.reactant(self.rows.get(*at)?)));
        let row = rows.next()?;
        let agrees = state.is_none() || state == row.metal.as_ref().map(|m| m.oxidation_state);
        (agrees && rows.all(|other| other.id == row.id)).then_some(row)
    }

    /// "zinc nitrate (Zn(NO3)2·6H2O)": the row of the formula, if the name may be its.
    fn by_name_and_formula(&self, text: &str) -> Option<&Reactant> {
        let at = text.find(" (").or_else(|| text.find(" ["))?;
        let (name, formula) = (&text[..at], text[at + 2..].strip_suffix([')', ']'])?);
        let row = self.find(formula).ok()?;
        let mut names = row.aliases.iter().chain([&row.name]);
        names.any(|its| stem(its) == stem(name)).then_some(row)
    }

    fn by_formula(&self, text: &str) -> Option<Result<&Reactant, LookupError>> {
        let formula = Formula::parse(text.trim()).ok()?;
        let same = |row: &&Reactant| same_atoms(&row.formula, &formula);
        let fits: Vec<&Reactant> = self.iter().filter(same).collect();
        match fits[..] {
            [] => None,
            [row] => Some(Ok(row)),
            _ => Some(Err(LookupError::Ambiguous {
                name: text.trim().to_owned(),
                candidates: fits.iter().map(|r| r.name.clone()).collect(),
                ask: "give the name",
            })),
        }
    }

    /// The hydrate that is sold, for a name that leaves the hydrate open; `None` for any other.
    pub fn usual_hydrate(&self, text: &str) -> Option<&Reactant> {
        let wanted = normalized(text);
        let tells = |word: &str| word.ends_with("hydrate") || word == "anhydrous";
        if self.by_name(&wanted).is_some() || wanted.split(' ').any(tells) {
            return None;
        }
        let open = stem(&wanted);
        // what is known without crystal water alone leaves no hydrate open
        let alone = |r: &Reactant| {
            let salt = r.formula.anhydrous();
            let same = |other: &&Reactant| other.formula.anhydrous().amounts() == salt.amounts();
            r.formula.crystal_water() == 0.0 && self.iter().filter(same).count() == 1
        };
        let fits = |r: &&Reactant| {
            let mut names = r.aliases.iter().chain([&r.name]);
            names.any(|name| stem(name) == open) && (r.usual_hydrate || alone(r))
        };
        let mut rows = self.iter().filter(fits);
        rows.next().filter(|_| rows.next().is_none())
    }

    /// Names and formulas that leave the hydrate open.
    fn open_hydrate(&self, text: &str, wanted: &str) -> Result<(), LookupError> {
        let names = |rows: &[&Reactant]| rows.iter().map(|r| r.name.clone()).collect();
        if let Ok(formula) = Formula::parse(text.trim()) {
            let dry = formula.anhydrous();
            let same = |r: &&Reactant| same_atoms(&r.formula.anhydrous(), &dry);
            let fits: Vec<&Reactant> = self.iter().filter(same).collect();
            if !fits.is_empty() && fits.iter().all(|r| r.state == State::Solution) {
                return Err(LookupError::StrengthUnknown {
                    name: text.trim().to_owned(),
                    known: names(&fits),
                });
            }
        }
        if let Ok(formula) = Formula::parse_with_water(text.trim(), 1.0) {
            let salt = formula.anhydrous();
            let fits: Vec<&Reactant> = self
                .iter()
                .filter(|r| r.formula.anhydrous().amounts() == salt.amounts())
                .collect();
            if !fits.is_empty() && Formula::parse(text.trim()).is_err() {
                return Err(LookupError::WaterUnknown {
                    name: text.trim().to_owned(),
                    known: names(&fits),
                });
            }
            if !fits.is_empty() {
                return Err(LookupError::NotFound {
                    name: text.trim().to_owned(),
                    close: names(&fits),
                });
            }
        }
        let open = stem(wanted);
        let fits: Vec<&Reactant> = self
            .iter()
            .filter(|r| {
                let mut all = r.aliases.iter().chain([&r.name]);
                all.any(|n| stem(n) == open)
            })
            .collect();
        if fits.is_empty() {
            return Ok(());
        }
        Err(LookupError::Ambiguous {
            name: text.trim().to_owned(),
            candidates: names(&fits),
            ask: "say which, as on the bottle",
        })
    }

    fn close_matches(&self, wanted: &str) -> Vec<String> {
        // of two letters every symbol is one slip away
        let letters = wanted.chars().count();
        let allowed = (letters / 3).clamp(usize::from(letters > 2), 4);
        let mut near: Vec<(usize, &str)> = self
            .iter()
            .filter_map(|row| {
                let formula = row.formula.to_string();
                let spellings = row.aliases.iter().chain([&row.name, &formula]);
                let distance = spellings
                    .filter_map(|s| {
                        let s = normalized(s);
                        let whole = distance_within(wanted, &s, allowed);
                        let stems = distance_within(&stem(wanted), &stem(&s), allowed);
                        whole.into_iter().chain(stems).min()
                    })
                    .min()?;
                Some((distance, row.name.as_str()))
            })
            .collect();
        near.sort_unstable();
        near.truncate(MOST_SUGGESTIONS);
        near.into_iter().map(|(_, name)| name.to_owned()).collect()
    }
}
