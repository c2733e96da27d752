//! The first page of every plan of the examples and of the strangers: how long it is, how wide, what stands in its
//! rows, and that nothing which keeps a hand from harm is lost on it.

use halfsplit_circuit::State;
use halfsplit_model::{Model, expect::WantKind};
use halfsplit_plan::{Plan, Request, plan};
use halfsplit_render::page::{self, Block, Brief};
use halfsplit_render::plan::{Car, Heading, LINES, WIDTH, first_page};
use halfsplit_tests::replay::{Asked, Drawn, circuits, open, plans};
use halfsplit_tests::strangers;

/// A plan with its car.
struct Job<'m> {
    name: String,
    model: &'m Model,
    state: State,
    plan: Plan,
}

impl Job<'_> {
    fn blocks(&self) -> Vec<Block> {
        let heading = Heading {
            circuit: self.model.title.clone(),
            vehicle: self.model.vehicle.name.clone(),
            proven: self.model.proven(),
            doubts: Some(Vec::new()),
        };
        first_page(&self.plan, &heading, Car { model: self.model, state: &self.state })
    }

    fn text(&self) -> String {
        page::text(&self.blocks(), WIDTH)
    }

    fn steps(&self) -> Vec<Brief> {
        let blocks = self.blocks().into_iter();
        blocks.filter_map(|block| if let Block::Brief(step) = block { Some(step) } else { None }).collect()
    }
}

/// What the strangers' stories ask for, and what `expect` blocks of the examples do.
fn told(mut each: impl FnMut(&Job<'_>)) {
    for folder in strangers::folders() {
        let story = strangers::story(&folder);
        let model = open(&folder.join(story["file"].as_str().unwrap())).unwrap();
        let plan = strangers::drawn(&model, &story).unwrap();
        let name = format!("{}, {} steps", folder.file_name().unwrap().to_string_lossy(), plan.steps.len());
        each(&Job { name, state: strangers::state(&model, &story), model: &model, plan });
    }
    for path in circuits() {
        let model = open(&path).unwrap();
        for expect in &model.expects {
            for want in &expect.wants {
                let WantKind::Plan { pin, reads, facts, .. } = &want.kind else { continue };
                let key = expect.key.as_ref().map_or("run", |key| key.words.as_str());
                let mut state = State::with_key(model.key(key).unwrap());
                expect.supply.into_iter().for_each(|supply| state.set_supply(supply));
                for out in &expect.out {
                    model.unplug(&mut state, &out.words).unwrap();
                }
                for setting in &expect.settings {
                    model.set(&mut state, &setting.words).unwrap();
                }
                let mut request = Request::new(model.names.point(&pin.words).unwrap(), state.clone());
                request.reads = *reads;
                request.facts = facts.iter().map(|said| said.words.clone()).collect();
                let plan = plan(&model.circuit, &request).unwrap();
                let name = format!("{} {}", path.file_name().unwrap().to_string_lossy(), pin.words);
                each(&Job { name, state, model: &model, plan });
            }
        }
    }
}

/// Every plan that the examples can be asked for.
fn asked(mut each: impl FnMut(&Job<'_>)) {
    for path in circuits() {
        // The trailer's many lamps take long; its plans are of the same kinds as the others'.
        if path.ends_with("trailer.circuit") {
            continue;
        }
        let model = open(&path).unwrap();
        for Drawn { plan, asked } in plans(&model) {
            let state = match asked {
                Asked::Pin(request) => request.state,
                Asked::Complaint(inquiry) => inquiry.state,
            };
            let name = format!("{} {}", path.file_name().unwrap().to_string_lossy(), plan.pin);
            each(&Job { name, state, model: &model, plan });
        }
    }
}

#[derive(Default)]
struct Figures {
    lines: Vec<(usize, String)>,
    first_step: Vec<usize>,
    steps: usize,
    rows: usize,
    /// Steps of one row: what they part is not told apart by repair units.
    parts_nothing: usize,
    wrong: Vec<String>,
}

const UNITS: [&str; 5] = ["V", "mV", "Ω", "kΩ", "MΩ"];

impl Figures {
    fn take(&mut self, job: &Job<'_>) {
        let text = job.text();
        self.lines.push((text.lines().count(), job.name.clone()));
        self.first_step.extend(text.lines().position(|line| line.starts_with(" 1  ")).map(|at| at + 1));
        for line in text.lines().filter(|line| line.chars().count() > WIDTH) {
            self.wrong.push(format!("{}: wider than {WIDTH}: {line}", job.name));
        }
        let briefs = job.steps();
        assert_eq!(briefs.len(), job.plan.steps.len(), "{}", job.name);
        for (step, brief) in job.plan.steps.iter().zip(&briefs) {
            self.steps += 1;
            self.rows += brief.rows.len();
            self.parts_nothing += usize::from(brief.rows.len() < 2);
            let mut fail = |what: &str| self.wrong.push(format!("{}, step {}: {what}", job.name, step.id));
            for (at, (reads, means)) in brief.rows.iter().enumerate() {
                if brief.rows[..at].iter().any(|(_, known)| known == means) {
                    fail(&format!("two rows mean {means:?}"));
                }
                if step.unit.is_empty() {
                    continue;
                }
                let units: std::collections::BTreeSet<&str> =
                    reads.split(' ').filter(|word| UNITS.contains(word)).collect();
                if units.len() > 1 {
                    fail(&format!("two units in {reads:?}"));
                }
                let numbers = reads.split(' ').filter(|word| word.parse::<f64>().is_ok()).count();
                if numbers > 3 {
                    fail(&format!("more than three numbers in {reads:?}"));
                }
            }
        }
        self.wrong.extend(lost(job, &job.blocks()));
    }

    fn judge(mut self, what: &str) {
        self.lines.sort();
        self.first_step.sort_unstable();
        let median = self.lines[self.lines.len() / 2].0;
        println!(
            "{what}: {} plans, {} steps ({} of one row), {} rows; first page {} to {} lines, median {median}, {} within {LINES}; \
             first step on line {} (median)",
            self.lines.len(),
            self.steps,
            self.parts_nothing,
            self.rows,
            self.lines[0].0,
            self.lines[self.lines.len() - 1].0,
            self.lines.iter().filter(|(lines, _)| *lines <= LINES).count(),
            self.first_step[self.first_step.len() / 2],
        );
        let worst = if std::env::var_os("EVERY_PAGE").is_some() { self.lines.len() } else { 5 };
        for (lines, name) in self.lines.iter().rev().take(worst) {
            println!("  {lines} lines: {name}");
        }
        assert!(self.wrong.is_empty(), "{} wrong:\n{}", self.wrong.len(), self.wrong.join("\n"));
        assert!(median <= LINES, "{what}: median of {median} lines");
    }
}

/// Words without the breaks of their lines.
fn run_in(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Cautions, and words of a step that keep from harm, which the first page lacks: all that a step's instruction says
/// stands in that step, every caution stands before the first step, and those of a plug that is parted before that step.
fn lost(job: &Job<'_>, blocks: &[Block]) -> Vec<String> {
    let until = blocks.iter().position(|block| matches!(block, Block::Brief(_))).unwrap_or(blocks.len());
    let head = run_in(&page::text(&blocks[..until], WIDTH));
    let mut lost: Vec<String> = Vec::new();
    for note in &job.plan.cautions {
        if !head.contains(&run_in(&note.words)) {
            lost.push(format!("{}: the head lacks the caution {:?}", job.name, note.words));
        }
        if note.hazard.is_some() && !head.contains(&note.at) {
            lost.push(format!("{}: the head does not say that {:?} is at {}", job.name, note.words, note.at));
        }
    }
    let steps = blocks.iter().filter(|block| matches!(block, Block::Brief(_)));
    for (step, block) in job.plan.steps.iter().zip(steps) {
        let text = run_in(&page::text(std::slice::from_ref(block), WIDTH));
        if !text.contains(&run_in(&step.instruction)) {
            lost.push(format!("{}, step {}: lacks {:?}", job.name, step.id, step.instruction));
        }
        for note in job.plan.cautions.iter().filter(|note| note.hazard.is_some() && note.at == step.target) {
            let (before, _) = text.split_once(&run_in(&step.instruction)).unwrap_or_default();
            if !before.contains('!') {
                lost.push(format!("{}, step {}: no word of {:?} before it", job.name, step.id, note.words));
            }
        }
    }
    lost
}

#[test]
fn first_pages_of_stories_and_expectations_fit() {
    let mut figures = Figures::default();
    told(|job| figures.take(job));
    figures.judge("strangers and expectations");
}

#[test]
fn first_pages_of_every_plan_of_the_examples_fit() {
    let mut figures = Figures::default();
    asked(|job| figures.take(job));
    assert!(figures.lines.len() > 80, "{} plans are too few to prove anything", figures.lines.len());
    figures.judge("examples");
}

/// A page that lost a caution, a step's danger or a word of a step is seen.
#[test]
fn the_judge_sees_what_is_lost() {
    let folder =
        strangers::folders().into_iter().find(|folder| folder.ends_with("01-egr-sensor-shorts-reference"));
    let folder = folder.unwrap();
    let story = strangers::story(&folder);
    let model = open(&folder.join(story["file"].as_str().unwrap())).unwrap();
    let plan = strangers::drawn(&model, &story).unwrap();
    let job = Job { name: "01".into(), state: strangers::state(&model, &story), model: &model, plan };
    let whole = job.blocks();
    assert_eq!(lost(&job, &whole), Vec::<String>::new());
    let without = |change: &dyn Fn(&mut Vec<Block>)| {
        let mut blocks = whole.clone();
        change(&mut blocks);
        lost(&job, &blocks).len()
    };
    let hot = |block: &Block| matches!(block, Block::Note { label, .. } if label.starts_with("HOT"));
    assert!(without(&|blocks| blocks.retain(|block| !hot(block))) > 0);
    let each_step = |blocks: &mut Vec<Block>, change: &dyn Fn(&mut Brief)| {
        for block in blocks {
            if let Block::Brief(step) = block {
                change(step);
            }
        }
    };
    let unwarned = |step: &mut Brief| {
        step.dangers.clear();
        step.words = step.words.replace("! HOT at X43, as above. ", "");
    };
    assert_eq!(without(&|blocks| each_step(blocks, &unwarned)), 1);
    let shortened = |step: &mut Brief| step.words = step.words.replace("battery negative off; ", "");
    assert_eq!(without(&|blocks| each_step(blocks, &shortened)), 2);
}

/// Pages as they are printed, the command above each.
#[test]
fn pages_as_they_are_printed() {
    let chosen = [
        "02-",
        "25-",
        "05-",
        "06-",
        "07-",
        "13-",
        "14-",
        "20-",
        "21-",
        "24-",
        "28-",
        "reference-a",
        "level-sensors",
    ];
    told(|job| {
        let Some(at) = chosen.iter().find(|start| job.name.starts_with(**start)) else { return };
        insta::assert_snapshot!(at.trim_end_matches('-'), job.text(), &job.name);
    });
}
