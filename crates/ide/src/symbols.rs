//! The outline of a file: everything it declares, nested as it is written.

use halfsplit_syntax::{Fact, Tree};

use crate::{Symbol, SymbolKind};

/// The outline of a file's facts.
pub(crate) fn symbols(tree: &Tree, facts: &[Fact]) -> Vec<Symbol> {
    facts.iter().filter_map(|fact| symbol(tree, fact)).collect()
}

fn symbol(tree: &Tree, fact: &Fact) -> Option<Symbol> {
    let sort = fact.word("sort").map(|sort| sort.value);
    let kind = kind(sort.unwrap_or(fact.keyword()))?;
    let named = ["name", "title", "cavities"].iter().find_map(|slot| fact.slot(slot))?;
    let name = tree.slice(named.span).trim_matches('"');
    let label = fact.text("label").map(|label| format!(" {}", label.value)).unwrap_or_default();
    Some(Symbol {
        // An outline does not show a name that is not there.
        name: if name.is_empty() { fact.keyword().to_owned() } else { name.to_owned() },
        detail: match sort {
            Some(sort) => format!("{} of {sort}{label}", fact.keyword()),
            None => format!("{}{label}", fact.keyword()),
        },
        kind,
        span: fact.span,
        focus: named.span,
        children: symbols(tree, &fact.facts),
    })
}

fn kind(keyword: &str) -> Option<SymbolKind> {
    Some(match keyword {
        "circuit" | "library" => SymbolKind::Circuit,
        "vehicle" => SymbolKind::Vehicle,
        "supply" | "reference" => SymbolKind::Source,
        "fuse" | "link" | "relay" | "switch" | "driver" => SymbolKind::Switching,
        "module" | "sensor" | "lamp" | "motor" | "heater" | "load" => SymbolKind::Load,
        "connector" | "inline" => SymbolKind::Connector,
        "cavity" => SymbolKind::Pin,
        "wire" | "splice" | "shield" | "bar" | "ground-point" => SymbolKind::Copper,
        "expect" => SymbolKind::Expectation,
        _ => return None,
    })
}
