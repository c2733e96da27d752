//! The main job from text to plan on the reference circuit, stage by stage, beside
//! reading the same bytes and splitting them into lines.
//!
//! `cargo bench -p halfsplit`. Every figure comes twice: bytes per second and lines per second.

use divan::{
    Bencher,
    counter::{BytesCount, ItemsCount},
};
use halfsplit_base::{FileId, Files};
use halfsplit_circuit::{Key, State};
use halfsplit_plan::{Request, plan};

const REFERENCE: &str = include_str!("../../../examples/tern/reference-a.circuit");

fn main() {
    divan::main();
}

fn files() -> (Files, FileId) {
    let mut files = Files::default();
    let file = files.set("reference-a.circuit".into(), REFERENCE);
    (files, file)
}

fn stage<T>(bencher: Bencher<'_, '_>, work: impl Fn() -> T + Sync) {
    bencher
        .counter(BytesCount::of_str(REFERENCE))
        .counter(ItemsCount::new(REFERENCE.lines().count()))
        .bench(work);
}

#[divan::bench]
fn a_read_and_split_lines(bencher: Bencher<'_, '_>) {
    stage(bencher, || divan::black_box(REFERENCE).to_owned().lines().map(str::len).sum::<usize>());
}

#[divan::bench]
fn b_parse(bencher: Bencher<'_, '_>) {
    stage(bencher, || halfsplit_syntax::parse(divan::black_box(REFERENCE)));
}

#[divan::bench]
fn c_check(bencher: Bencher<'_, '_>) {
    stage(bencher, || {
        let (files, file) = files();
        halfsplit_check::check(&files, file)
    });
}

#[divan::bench(sample_count = 10)]
fn d_plan_from_the_files_suspects(bencher: Bencher<'_, '_>) {
    stage(bencher, || planned(true));
}

#[divan::bench(sample_count = 5)]
fn e_plan_from_all_suspects(bencher: Bencher<'_, '_>) {
    stage(bencher, || planned(false));
}

fn planned(file_only: bool) -> Option<f64> {
    let (files, file) = files();
    let model = halfsplit_model::lower(&files, file);
    let mut state = State::with_key(Key::Run);
    state.set_supply(12.4);
    let mut request = Request::new(model.names.find_point("X35:1")?, state);
    if file_only {
        request = request.file_only();
    }
    request.reads = Some(0.235);
    request.facts = vec!["A10 communicates".into()];
    plan(&model.circuit, &request).ok().map(|plan| plan.expected_minutes)
}
