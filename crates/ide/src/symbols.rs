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
    let slots = ["name", "title", "file", "red", "cavities", "rule", "item"];
    let named = slots.iter().find_map(|slot| fact.slot(slot))?;
    let name = tree.slice(named.span).trim_matches('"');
    let label = fact.text("label").map(|label| format!(" {}", label.value)).unwrap_or_default();
    Some(Symbol {
        // An outline does not show a name that is not there.
        name: if name.trim().is_empty() { fact.keyword().to_owned() } else { name.to_owned() },
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
        "fuse" | "link" | "relay" | "switch" | "driver" | "bridge" => SymbolKind::Switching,
        "module" | "sensor" | "lamp" | "motor" | "heater" | "load" => SymbolKind::Load,
        "connector" | "inline" | "spiral-contact" => SymbolKind::Connector,
        "cavity" => SymbolKind::Pin,
        "wire" | "splice" | "shield" | "bar" | "ground-point" => SymbolKind::Copper,
        "bus" => SymbolKind::Bus,
        "zone" | "run" => SymbolKind::Where,
        "use" | "added" => SymbolKind::Use,
        "option" | "parameter" => SymbolKind::Option,
        "expect" => SymbolKind::Expectation,
        "case" => SymbolKind::Case,
        "reading" | "confirmed" => SymbolKind::Reading,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use crate::testing::open;

    fn outline(text: &str) -> Vec<String> {
        let (analysis, file) = open(text);
        let mut all = Vec::new();
        let mut waiting = analysis.symbols(file);
        waiting.reverse();
        while let Some(symbol) = waiting.pop() {
            assert!(symbol.span.start <= symbol.focus.start && symbol.focus.end <= symbol.span.end);
            all.push(format!("{} {:?}", symbol.name, symbol.kind));
            waiting.extend(symbol.children.into_iter().rev());
        }
        all
    }

    #[test]
    fn buses_zones_runs_and_uses_are_in_it() {
        let text = "halfsplit 1\ncircuit \"20 °C 🔧\"\nuse \"lib/a.circuit\"\nbus CAN1 can 500 kbit/s \"中\"\n\
            zone COLUMN \"🔧\" {\n  caution airbag \"°\"\n}\nrun RUN1 \"left 中\"\n";
        let found = outline(text);
        assert_eq!(
            found,
            ["20 °C 🔧 Circuit", "lib/a.circuit Use", "CAN1 Bus", "COLUMN Where", "RUN1 Where"]
        );
    }

    #[test]
    fn a_case_shows_its_readings() {
        let text = "halfsplit 1\ncase \"2026-118 °🔧\" on \"a.circuit\" {\n  added \"b.circuit\"\n  reading X35:1 0.235 V\n  confirmed B4\n}\n";
        let found = outline(text);
        assert_eq!(found, ["2026-118 °🔧 Case", "b.circuit Use", "X35:1 Reading", "B4 Reading"]);
    }
}
