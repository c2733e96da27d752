//! Words that are no names: keywords, units, colours, rules, parameters, and the lines of cavities.

use std::fmt::Write as _;

use halfsplit_base::Span;
use halfsplit_model::Entity;
use halfsplit_syntax::{Kind, Value, colour, shape, units};

use crate::scene::Scene;
use crate::{Analysis, Hover};

/// The pin whose own line is at an offset: the number in front of `14 GY/RD "reference A"`.
pub(super) fn cavity_at(scene: Scene, offset: u32) -> Option<(Entity, Span)> {
    let fact = scene.fact_at(offset).filter(|fact| fact.keyword() == "cavity")?;
    let number = fact.slot("cavities").or_else(|| fact.slot("name"))?;
    let holder = scene.parse().facts.iter().find(|holder| holder.span.touches(offset))?;
    let mut at = holder;
    while let Some(inner) =
        at.facts.iter().find(|inner| inner.span.touches(offset) && inner.keyword() != "cavity")
    {
        at = inner;
    }
    let (entity, _) = scene.entity_at(at.name("name")?.span.start)?;
    let Entity::Connector(id) = entity else { return None };
    let connector = scene.circuit().connector(id);
    let first = match &number.value {
        Value::Range(range) => range.first.to_string(),
        Value::Word(word) => word.as_str().to_owned(),
        _ => return None,
    };
    let cavity = connector.cavities.iter().find(|cavity| cavity.name == first)?;
    // A colour on the line is still a colour.
    let on_number = number.span.touches(offset);
    on_number.then_some((Entity::Point(cavity.points.iter().flatten().next().copied()?), number.span))
}

/// What is known of the word at an offset.
pub(super) fn hover(analysis: &Analysis, scene: Scene, offset: u32) -> Option<Hover> {
    let (kind, span) = scene.token_at(offset)?;
    if !matches!(kind, Kind::Word) {
        return None;
    }
    let word = scene.tree().slice(span);
    let fact = scene.fact_at(offset);
    let slot = fact.and_then(|fact| fact.slots.iter().find(|slot| slot.span.touches(offset)));
    let markdown = match (fact, slot) {
        (Some(fact), _) if fact.keyword_span == span => statement(fact.shape),
        (_, Some(slot)) if matches!(slot.value, Value::Colour(_)) => {
            colour::colour_name(&word.to_uppercase()).map(|name| format!("**{word}** · {name}"))?
        }
        (Some(fact), Some(slot)) if (fact.keyword(), slot.name) == ("allow", "rule") => {
            rule(analysis, scene, word)?
        }
        (Some(fact), Some(slot)) if matches!(slot.value, Value::Word(_)) => {
            let about = fact.shape.slot_about(slot.name)?;
            format!(
                "**{word}** · {}\n\n{about}",
                parameter(scene, word).unwrap_or_else(|| slot.name.to_owned())
            )
        }
        _ => match units::unit(word) {
            Some(unit) => of_unit(word, unit),
            None => of_word(scene, word)?,
        },
    };
    Some(Hover { span, markdown })
}

/// What is known of a word by itself, as a list of offers shows it: a statement, a rule, a unit, a colour, a name.
pub(crate) fn of_word(scene: Scene, word: &str) -> Option<String> {
    if let Some(shape) = shape::all().iter().find(|shape| shape.keyword == word) {
        return Some(statement(shape));
    }
    if let Some(rule) = halfsplit_check::rules().iter().find(|rule| rule.id == word) {
        return Some(rule.page.trim_end().to_owned());
    }
    if let Some(entity) = scene.model.names.find_any(word) {
        let mut card = super::Card::of(scene);
        card.entity(entity);
        return Some(card.text.trim_end().to_owned());
    }
    let colour = colour::colour_name(word).map(|name| format!("**{word}** · {name}"));
    colour.or_else(|| units::unit(word).map(|unit| of_unit(word, unit)))
}

/// The statement's page in short: its line, what it says, its values, an example.
fn statement(shape: &shape::Shape) -> String {
    let mut out = format!("**{}** · {}\n\n", shape.keyword, shape.entry.about);
    for (slot, about) in shape.entry.slots {
        let _ = writeln!(out, "- {}: {about}", slot.to_uppercase());
    }
    let _ = write!(out, "\n```halfsplit\n{}\n```", shape.entry.example);
    out
}

fn rule(analysis: &Analysis, scene: Scene, word: &str) -> Option<String> {
    let rule = halfsplit_check::rules().iter().find(|rule| rule.id == word)?;
    let now = analysis.findings(scene.file).iter().filter(|finding| finding.rule == word).count();
    let page = rule.page.trim_end();
    Some(if now == 0 {
        page.to_owned()
    } else {
        format!("{page}\n\n{now} more of them stand in this circuit.")
    })
}

fn of_unit(word: &str, unit: units::Unit) -> String {
    let dimension = unit.dimension();
    let worth = match unit {
        units::Unit::Plain(_, factor) if factor != 1.0 => {
            format!("; 1 {word} is {factor} {}", dimension.usual())
        }
        units::Unit::Plain(..) => String::new(),
        units::Unit::Awg => "; American wire gauge: the higher the number, the thinner".into(),
        units::Unit::Sae => "; thinner than AWG of the same number".into(),
    };
    format!("**{word}** · {}{worth}\n\nWritten in {}.", dimension.noun(), dimension.spellings())
}

fn parameter(scene: Scene, word: &str) -> Option<String> {
    let all = scene.model.kinds.iter().flat_map(|kind| &kind.parameters);
    let known = all.into_iter().find(|parameter| parameter.name == word)?;
    Some(format!("{} (without it {})", known.about, known.default))
}

#[cfg(test)]
mod tests {
    use crate::testing::marked;

    const TEXT: &str = "halfsplit 1\ncircuit \"20 °C 🔧\"\nsplice SP1 \"中\"\nsensor B4 \"🔧\" {\n  connector X34 3 cavities {\n    2 GY/RD \"°\"\n  }\n}\n\
        wire W1 SP1 to X34:2 GY/RD 0.5 mm2 1 m # 中 🔧\nallow dangling-wire because \"°\" on W1\n";

    fn hover(before: &str) -> String {
        let (analysis, at) = marked(&TEXT.replacen(before, &format!("{before}$0"), 1));
        analysis.hover(at).map(|hover| hover.markdown).unwrap_or_default()
    }

    #[test]
    fn words_that_are_no_names_tell_what_they_mean() {
        assert!(hover("\nwi").starts_with("**wire** · One wire between two ends."), "{}", hover("\nwi"));
        assert!(hover("0.5 m").starts_with("**mm2** · a cross-section"));
        assert_eq!(hover("X34:2 GY"), "**GY/RD** · grey with a red tracer");
        assert!(hover("allow dang").starts_with("# dangling-wire"));
        assert!(hover("\n    2").starts_with("**X34:2** · B4 🔧"), "{}", hover("\n    2"));
        assert_eq!(hover("# 中"), "");
    }
}
