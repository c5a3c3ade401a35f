//! `emberpot substance`: data, sources and reliability.

use super::answer::{Answer, Format};
use super::error::CliError;
use emberpot::internal::report::{
    ListFilter, audit_document, audit_json, list_document, list_json, substance_document,
    substance_json, substance_list, substance_sheets, widest_bands,
};
use emberpot::internal::source::Seen;
use emberpot::{Element, Tables};

/// Products that the audit lists.
const AUDITED_PRODUCTS: usize = 25;
/// Columns of the lists: names are long, and few read them on a narrow screen.
const WIDTH: usize = 100;

#[derive(clap::Args)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["name", "list", "audit"])))]
pub struct Arguments {
    /// Formula, name or CAS number of a reactant, or formula or id of a product.
    name: Option<String>,
    /// List what the tables hold.
    #[arg(long)]
    list: bool,
    /// List the weakest values and what they would change.
    #[arg(long)]
    audit: bool,
    /// With --list: only substances with this element; may be given several times.
    #[arg(long, requires = "list", conflicts_with_all = ["name", "audit"], value_name = "SYMBOL")]
    element: Vec<String>,
    /// With --list: only this kind (oxidiser, fuel, "fuel-like salt", "metal source", flux, acid,
    /// solvent, gas, liquid, crystal); may be given several times.
    #[arg(long, requires = "list", conflicts_with_all = ["name", "audit"], value_name = "KIND")]
    kind: Vec<String>,
    /// With --list: only substances whose weakest value is a document, computed, "from memory" or
    /// estimated.
    #[arg(long, requires = "list", conflicts_with_all = ["name", "audit"], value_name = "SEEN")]
    reliability: Option<String>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Kinds that --kind takes.
const KINDS: [&str; 10] = [
    "oxidiser",
    "fuel",
    "fuel-like salt",
    "metal source",
    "flux",
    "acid",
    "solvent",
    "gas",
    "liquid",
    "crystal",
];

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let text = if let Some(name) = &arguments.name {
        let sheets = substance_sheets(name, tables);
        if sheets.is_empty() {
            return Err(CliError::Argument(unknown(name, tables)));
        }
        arguments.format.write(
            || substance_document(&sheets, &tables.sources).text(WIDTH),
            || substance_json(&sheets, &tables.sources),
        )
    } else if arguments.audit {
        let lines = tables
            .audit_reactants()
            .map_err(|e| CliError::Argument(e.to_string()))?;
        let products = widest_bands(tables, AUDITED_PRODUCTS);
        arguments.format.write(
            || audit_document(&lines, &products).text(WIDTH),
            || audit_json(&lines, &products),
        )
    } else {
        let entries = substance_list(tables, &filter(arguments)?);
        arguments.format.write(
            || list_document(&entries).text(WIDTH),
            || list_json(&entries),
        )
    };
    Ok(text.into())
}

fn filter(arguments: &Arguments) -> Result<ListFilter, CliError> {
    let mut filter = ListFilter::default();
    for symbol in &arguments.element {
        let element = Element::from_symbol(symbol).ok_or_else(|| {
            CliError::Argument(format!("--element {symbol}: no element has this symbol"))
        })?;
        filter.elements.push(element);
    }
    for kind in &arguments.kind {
        if !KINDS.contains(&kind.as_str()) {
            let list = KINDS.join(", ");
            return Err(CliError::Argument(format!(
                "--kind {kind}: use one of {list}"
            )));
        }
        filter.kinds.push(kind.clone());
    }
    if let Some(word) = &arguments.reliability {
        let all = [
            Seen::Document,
            Seen::Computed,
            Seen::FromMemory,
            Seen::Estimated,
        ];
        let found = all.into_iter().find(|seen| seen.to_string() == *word);
        filter.seen = Some(found.ok_or_else(|| {
            let list = all.map(|seen| format!("\"{seen}\"")).join(", ");
            CliError::Argument(format!("--reliability {word}: use one of {list}"))
        })?);
    }
    Ok(filter)
}

/// The error of the reactants' look-up, which knows refusals and close names, and close products.
fn unknown(name: &str, tables: &Tables) -> String {
    if let Some(reason) = tables.reactants.refusal(name) {
        return format!("`{name}` is refused: {reason}");
    }
    let reason = match tables.reactants.resolve(name, None) {
        Err(error) => error.to_string(),
        Ok(found) => format!("`{name}` means {}", found.name),
    };
    let close = tables.close_species_names(name, 4);
    if close.is_empty() {
        reason
    } else {
        format!("{reason}; among the products: {}", close.join(", "))
    }
}
