//! What an editor can offer to do at a place.

mod declare;

use halfsplit_base::{Edit, Finding, Severity, Span};
use halfsplit_circuit::PointKind;
use halfsplit_model::{Entity, ProblemKind};
use halfsplit_syntax::Fact;

use crate::pin::pin_at;
use crate::scene::Scene;
use crate::{Action, ActionKind, Analysis, Change};

/// Rules whose fix is the only one that there is: the text says what was meant, in another spelling.
const CERTAIN: [&str; 8] = [
    "decimal-comma",
    "smart-quote",
    "range-spelling",
    "missing-arrow",
    "missing-header",
    "unclosed-text",
    "brace-below",
    "missing-to",
];

/// Everything that can be done about a range of a file.
pub(crate) fn actions(analysis: &Analysis, scene: Scene, range: Span) -> Vec<Action> {
    let mut actions = Vec::new();
    for finding in analysis.touched(scene.file, range) {
        actions.extend(declare::instead(scene, finding));
        actions.extend(fix(scene, finding));
        actions.extend(allow(scene, finding));
    }
    actions.extend(fix_all(analysis, scene));
    actions.extend(sort_cavities(scene, range.start));
    actions.extend(plan(analysis, scene, range.start));
    actions
}

/// The fix that a finding knows; none that would join wires to a thing that has its own.
fn fix(scene: Scene, finding: &Finding) -> Option<Action> {
    let fix = finding.fix.clone()?;
    let guessed = finding.rule == "unknown-name";
    if guessed && fix.edits.iter().any(|edit| has_wires(scene, &edit.text)) {
        return None;
    }
    Some(Action {
        title: fix.title,
        kind: ActionKind::Fix { finding: finding.clone() },
        preferred: CERTAIN.contains(&finding.rule),
        cursor: None,
        change: Change::Edits(fix.edits),
    })
}

/// Whether a pin, or any pin of the connector that it belongs to, has a wire already.
fn has_wires(scene: Scene, name: &str) -> bool {
    let (circuit, sound) = (scene.circuit(), scene.sound());
    let Some(point) = scene.model.names.find_point(name) else {
        return scene.model.names.find_any(name).is_some();
    };
    match circuit.point(point).kind {
        PointKind::Cavity { connector, .. } => {
            let points = circuit.connector(connector).cavities.iter().flat_map(|cavity| cavity.points);
            points.flatten().any(|point| sound.is_wired(circuit, point))
        }
        _ => !sound.branches_at(point).is_empty(),
    }
}

/// Silence for a finding, with the cursor where the reason goes.
fn allow(scene: Scene, finding: &Finding) -> Option<Action> {
    let rule = halfsplit_check::rules().iter().find(|rule| rule.id == finding.rule)?;
    // What nothing declares, or two things do, cannot be right all the same.
    let cannot_be = ["unknown-", "ambiguous-", "duplicate-", "no-such-", "use-", "wrong-kind"];
    if !rule.looks_at_circuits() || cannot_be.iter().any(|start| finding.rule.starts_with(start)) {
        return None;
    }
    let own = || scene.model.all_mentions().filter(|mention| mention.place.file == scene.file);
    // A finding about a word that names nothing is about what its line declares.
    let line = scene.fact_at(finding.span.start).map(|fact| fact.span);
    let mention = own().find(|mention| finding.span.touches(mention.place.span.start)).or_else(|| {
        own().find(|mention| {
            mention.declares && line.is_some_and(|line| line.touches(mention.place.span.start))
        })
    })?;
    let name = scene.model.names.all().find(|(_, entity)| *entity == mention.entity).map(|(name, _)| name)?;
    let top = scene.parse().facts.iter().rfind(|fact| fact.span.start <= finding.span.start)?;
    let end = line_end(scene.text(), top.span.end);
    let head = format!("\nallow {} because \"", finding.rule);
    let text = format!("{head}\" on {name}");
    Some(Action {
        title: format!("Allow {} on {name}, and say why", finding.rule),
        kind: ActionKind::Fix { finding: finding.clone() },
        preferred: false,
        cursor: Some(end + head.len() as u32),
        change: Change::Edits(vec![Edit { file: scene.file, span: Span::empty(end), text }]),
    })
}

/// The end of the line that an offset is on, its line break left out.
fn line_end(text: &str, offset: u32) -> u32 {
    let rest = &text[offset as usize..];
    offset + rest.find(['\n', '\r']).unwrap_or(rest.len()) as u32
}

/// Every certain fix of the file at once.
fn fix_all(analysis: &Analysis, scene: Scene) -> Option<Action> {
    let findings = analysis.findings(scene.file).iter();
    let certain = findings.filter(|finding| finding.file == scene.file && CERTAIN.contains(&finding.rule));
    let mut edits: Vec<Edit> =
        certain.filter_map(|finding| finding.fix.clone()).flat_map(|fix| fix.edits).collect();
    edits.sort_by_key(|edit| edit.span);
    edits.dedup();
    let mut end = None;
    edits.retain(|edit| {
        let apart = end.is_none_or(|end| edit.span.start >= end) && edit.file == scene.file;
        end = if apart { Some(edit.span.end.max(edit.span.start + 1)) } else { end };
        apart
    });
    (!edits.is_empty()).then(|| Action {
        title: "Mend everything that can be mended for certain".into(),
        kind: ActionKind::FixAll,
        preferred: false,
        cursor: None,
        change: Change::Edits(edits),
    })
}

/// The lines of a connector's cavities in the order of their numbers.
fn sort_cavities(scene: Scene, offset: u32) -> Option<Action> {
    let connector =
        around(&scene.parse().facts, offset, &|fact| matches!(fact.keyword(), "connector" | "inline"))?;
    let text = scene.text();
    let mut lines = Vec::new();
    for cavity in connector.all("cavity") {
        let span = Span::new(cavity.span.start, line_end(text, cavity.span.end));
        lines.push((cavity.range("cavities")?.value.first, span));
    }
    if lines.is_sorted_by_key(|(number, _)| *number) {
        return None;
    }
    let mut sorted = lines.clone();
    sorted.sort_by_key(|(number, _)| *number);
    let moved = lines.iter().zip(&sorted).filter(|(here, there)| here != there);
    let edits = moved.map(|((_, here), (_, there))| Edit {
        file: scene.file,
        span: *here,
        text: text[there.range()].trim_end_matches('}').trim_end().to_owned(),
    });
    // Lines that share one line of text, or its closing brace, are not moved about.
    if lines.iter().any(|(_, span)| text[span.range()].contains('}')) {
        return None;
    }
    Some(Action {
        title: "Sort the cavities by number".into(),
        kind: ActionKind::Rewrite,
        preferred: false,
        cursor: None,
        change: Change::Edits(edits.collect()),
    })
}

/// The innermost fact around an offset that fits.
fn around<'f>(facts: &'f [Fact], offset: u32, fits: &dyn Fn(&Fact) -> bool) -> Option<&'f Fact> {
    let fact = facts.iter().find(|fact| fact.span.touches(offset))?;
    around(&fact.facts, offset, fits).or_else(|| fits(fact).then_some(fact))
}

/// The offers to write the isolation plan of the pin at an offset, one for each class of reading that it can have.
/// In a circuit with errors no plan is drawn, so none is offered.
fn plan(analysis: &Analysis, scene: Scene, offset: u32) -> Vec<Action> {
    let errors = || analysis.findings(scene.file).iter().any(|finding| finding.severity == Severity::Error);
    let pin = pin_at(scene.model, scene.tree(), scene.file, offset);
    let Some(pin) = pin.filter(|_| !scene.model.library && !errors()) else { return Vec::new() };
    let name = scene.circuit().point(pin).name.clone();
    let offer = |reading: crate::plan::Class| Action {
        title: format!("Write the isolation plan for {name}, which {}", reading.words()),
        kind: ActionKind::Plan,
        preferred: false,
        cursor: None,
        change: Change::Plan { file: scene.file, pin: name.clone(), reading },
    };
    crate::plan::classes(scene, pin).into_iter().map(offer).collect()
}

/// Names that nothing declares, for the offers to declare them.
fn unknown<'a>(scene: Scene<'a>) -> impl Iterator<Item = (&'a str, &'static str, Span)> + 'a {
    scene.model.problems.iter().filter_map(move |problem| match &problem.kind {
        ProblemKind::UnknownName { written, wanted, .. } if problem.place.file == scene.file => {
            Some((written.as_str(), *wanted, problem.place.span))
        }
        _ => None,
    })
}

/// The name of the part in whose block an offset lies.
fn owner(scene: Scene<'_>, offset: u32) -> Option<&str> {
    let fact = scene.parse().facts.iter().find(|fact| fact.span.touches(offset))?;
    let name = fact.name("name")?;
    let declares = scene.entity_at(name.span.start);
    matches!(declares, Some((Entity::Part(_), _))).then_some(name.value)
}

#[cfg(test)]
mod tests;
