//! `unused-option`.

use halfsplit_model::Place;

use crate::{Rule, rule::Found, statements::own, survey::Survey};

pub(super) const RULE: Rule = rule!("unused-option", Warning, Sound, check);

fn check(survey: &Survey, found: &mut Found) {
    let options: Vec<_> = own(survey).into_iter().filter(|line| line.fact.keyword() == "option").collect();
    if options.is_empty() {
        return;
    }
    for line in options {
        let Some(name) = line.fact.name("name") else { continue };
        let used = survey.model.files().any(|file| {
            let text = survey.whole_text(file);
            let words = text.split(|c: char| !(c.is_alphanumeric() || "_-".contains(c)));
            words.filter(|word| *word == name.value).count() > usize::from(file == line.file)
        });
        if !used {
            found
                .add(
                    Place { file: line.file, span: name.span },
                    format!("the option {} is asked for by no line", name.value),
                )
                .help("write `when` with it behind the lines that hold for such cars, or leave it out");
        }
    }
}
