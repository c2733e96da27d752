//! Findings that the author accepts, with a reason.

use halfsplit_base::{Finding, Severity};
use halfsplit_circuit::PointKind;
use halfsplit_model::{Allow, Entity, Model, Place};

/// Leaves out what an `allow` covers, and reports every `allow` that covers
/// nothing, names no rule, or gives no reason.
pub(crate) fn apply(model: &Model, findings: Vec<Finding>) -> Vec<Finding> {
    let mut used = vec![false; model.allows.len()];
    let mut kept: Vec<Finding> = Vec::new();
    for finding in findings {
        let covering = model.allows.iter().position(|allow| covers(model, allow, &finding));
        match covering {
            Some(index) => used[index] = true,
            None => kept.push(finding),
        }
    }
    for (allow, used) in model.allows.iter().zip(used) {
        kept.extend(complaint(allow, used));
    }
    kept
}

fn covers(model: &Model, allow: &Allow, finding: &Finding) -> bool {
    let place = Place { file: finding.file, span: finding.span };
    allow.rule == finding.rule
        && !allow.reason.trim().is_empty()
        && allow.on.is_none_or(|item| about(model, item, place))
}

/// Whether a finding's place lies in the item's own statement or names the item.
fn about(model: &Model, item: Entity, place: Place) -> bool {
    let inside = |outer: Place| {
        outer.file == place.file && outer.span.start <= place.span.start && place.span.end <= outer.span.end
    };
    let owner = match item {
        Entity::Point(id) => match model.circuit.point(id).kind {
            PointKind::Cavity { connector, .. } => model.declaration(Entity::Connector(connector)),
            _ => None,
        },
        _ => None,
    };
    model.declaration(item).is_some_and(inside)
        || model.mentions(item).any(|m| m.place == place)
        || (owner.is_some() && model.declaration(item).is_some_and(|p| p.span == place.span))
}

fn complaint(allow: &Allow, used: bool) -> Option<Finding> {
    let finding = |rule, severity, place: Place, message: String, help: &str| Finding {
        rule,
        severity,
        message,
        file: place.file,
        span: place.span,
        help: Some(help.into()),
        related: Vec::new(),
        fix: None,
    };
    let id = &allow.rule;
    if !crate::rules().iter().any(|rule| rule.id == id) {
        let help = "`halfsplit explain` lists every rule";
        return Some(finding(
            "unknown-rule",
            Severity::Error,
            allow.rule_place,
            format!("no rule is called `{id}`"),
            help,
        ));
    }
    if allow.reason.trim().is_empty() {
        let message = format!("`{id}` is allowed here without a reason");
        let help = "say why the finding does not matter: `because \"…\"`";
        return Some(finding("allow-without-reason", Severity::Error, allow.place, message, help));
    }
    if !used {
        let message = format!("`{id}` is allowed here, but nothing here breaks it");
        return Some(finding("unused-allow", Severity::Warning, allow.place, message, "leave this line out"));
    }
    None
}
