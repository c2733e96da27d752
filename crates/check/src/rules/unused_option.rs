//! `unused-option`.

use std::collections::HashMap;

use halfsplit_model::Place;

use crate::{Rule, rule::Found, statements::own, survey::Survey};

pub(super) const RULE: Rule = rule!("unused-option", Warning, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    let options: Vec<_> = own(survey).into_iter().filter(|line| line.fact.keyword() == "option").collect();
    if options.is_empty() {
        return;
    }
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for file in survey.model.files() {
        let words = survey.whole_text(file).split(|c: char| !(c.is_alphanumeric() || "_-".contains(c)));
        words.for_each(|word| *counts.entry(word).or_default() += 1);
    }
    for line in options {
        let Some(name) = line.fact.name("name") else { continue };
        // Its own line is the one place that names an option that nothing asks for.
        if counts.get(name.value) == Some(&1) {
            found
                .add(
                    Place { file: line.file, span: name.span },
                    format!("the option {} is asked for by no line", name.value),
                )
                .help("write `when` with it behind the lines that hold for such cars, or leave it out");
        }
    }
}
