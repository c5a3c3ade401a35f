//! Sources of the numbers used.

use crate::plan::Plan;
use crate::report::document::Section;

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::new("Sources of the numbers used");
    for used in &plan.sources {
        let source = plan.tables.sources.get(&used.id);
        let title = source.map_or("(not listed)", |source| source.title.as_str());
        section.text(format!("[{}] {title}", used.id.cited("", used.seen)));
        section.item(used.used_for.join(", "));
    }
    section
}
