//! Circuits of several files: what an editor is told when one of them changes.

use std::{
    cell::RefCell,
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use halfsplit_base::{FileId, Refused};
use halfsplit_ide::{FilePosition, Host};

const HORN: &str = "halfsplit 1\ncircuit \"horn\"\nuse \"lib/power.circuit\"\nsplice SP1\n\
    wire W3 F1:load to SP1 RD/WH 1 mm2 2 m\n";
const POWER: &str = "halfsplit 1\nlibrary \"power\"\nuse \"lib/fuses.circuit\"\n";
const FUSES: &str = "halfsplit 1\nlibrary \"fuses\"\nfuse F1 10 A\n";

/// A folder that is not on any disk, and how often each file was read.
#[derive(Default)]
struct Disk {
    texts: BTreeMap<PathBuf, String>,
    read: RefCell<Vec<PathBuf>>,
}

impl Disk {
    fn with(texts: &[(&str, &str)]) -> Disk {
        let texts = texts.iter().map(|(path, text)| (PathBuf::from(path), (*text).to_owned()));
        Disk { texts: texts.collect(), ..Disk::default() }
    }

    fn load(&self, host: &mut Host, file: FileId) {
        host.load(file, "/cars".into(), &mut |root, path| {
            assert_eq!(root, Path::new("/cars"));
            self.read.borrow_mut().push(path.into());
            self.texts.get(path).cloned().ok_or(Refused::Missing)
        });
    }
}

fn rules(host: &mut Host, file: FileId) -> Vec<&'static str> {
    host.analysis().findings(file).iter().map(|finding| finding.rule).collect()
}

#[test]
fn a_name_leads_into_a_file_that_only_the_disk_has() {
    let mut host = Host::default();
    let disk = Disk::with(&[("/cars/lib/power.circuit", POWER), ("/cars/lib/fuses.circuit", FUSES)]);
    let file = host.set("/cars/tern/horn.circuit".into(), HORN);
    disk.load(&mut host, file);
    let analysis = host.analysis();
    let pin = HORN.find("F1:load").unwrap() as u32;
    let target = analysis.definition(FilePosition { file, offset: pin }).unwrap();
    assert_eq!(analysis.files().get(target.file).path, Path::new("/cars/lib/fuses.circuit"));
    let offset = HORN.find("power.circuit").unwrap() as u32;
    let used = analysis.definition(FilePosition { file, offset }).unwrap();
    assert_eq!(analysis.files().get(used.file).path, Path::new("/cars/lib/power.circuit"));
    let words = &FUSES[target.span.range()];
    assert!(words.contains("F1"), "{words}");
    assert!(analysis.hover(FilePosition { file, offset: pin }).unwrap().markdown.contains("F1:load"));
}

#[test]
fn a_change_in_a_used_file_is_a_change_of_the_circuit() {
    let mut host = Host::default();
    let disk = Disk::with(&[("/cars/lib/power.circuit", POWER), ("/cars/lib/fuses.circuit", FUSES)]);
    let file = host.set("/cars/tern/horn.circuit".into(), HORN);
    let other = host.set("/cars/tern/other.circuit".into(), "halfsplit 1\ncircuit \"other\"\n");
    disk.load(&mut host, file);
    disk.load(&mut host, file);
    assert_eq!(disk.read.borrow().len(), 2, "each file is read once");
    assert!(!rules(&mut host, file).contains(&"unknown-name"));
    let before = host.analysis();
    let findings = before.findings(other).as_ptr();

    host.set("/cars/lib/fuses.circuit".into(), &FUSES.replace("F1", "F2"));
    assert!(rules(&mut host, file).contains(&"unknown-name"));
    assert!(!before.findings(file).iter().any(|finding| finding.rule == "unknown-name"));
    assert_eq!(host.analysis().findings(other).as_ptr(), findings, "what uses nothing is not checked again");

    host.remove("/cars/lib/fuses.circuit".as_ref());
    assert!(rules(&mut host, file).contains(&"use-not-found"));
}

#[test]
fn a_file_that_comes_later_is_found() {
    let mut host = Host::default();
    let mut disk = Disk::with(&[("/cars/lib/power.circuit", POWER)]);
    let file = host.set("/cars/tern/horn.circuit".into(), HORN);
    disk.load(&mut host, file);
    assert!(rules(&mut host, file).contains(&"use-not-found"));
    disk.texts.insert("/cars/lib/fuses.circuit".into(), FUSES.into());
    host.retry();
    disk.load(&mut host, file);
    assert!(!rules(&mut host, file).contains(&"use-not-found"));
}

const SENSORS: &str = "halfsplit 1
kind PRESSURE sensor \"three-wire pressure sensor\" {
  parameter  PLUG     X1  \"its plug\"
  parameter  CURRENT  8 mA
  connector PLUG 3 cavities {
    1  BK/GY
  }
  draws      CURRENT at 5 V  PLUG:2 -> PLUG:1
}
";
const PRESSURE: &str = "halfsplit 1\ncircuit \"pressure\"\nuse \"lib/sensors.circuit\"\n\
    sensor B4 as PRESSURE \"A/C pressure\" {\n  with PLUG X34\n}\nsplice SP1\nwire W1 X34:2 to SP1 GN 1 mm2 1 m\n";

#[test]
fn a_kinds_name_leads_to_the_kind_and_tells_what_it_takes() {
    let mut host = Host::default();
    let disk = Disk::with(&[("/cars/lib/sensors.circuit", SENSORS)]);
    let file = host.set("/cars/tern/a.circuit".into(), PRESSURE);
    disk.load(&mut host, file);
    let analysis = host.analysis();
    let at = |before: &str| {
        let offset = (PRESSURE.find(before).unwrap() + before.len()) as u32;
        FilePosition { file, offset }
    };
    let target = analysis.definition(at("B4 as PRE")).unwrap();
    assert_eq!(analysis.files().get(target.file).path, Path::new("/cars/lib/sensors.circuit"));
    assert_eq!(&SENSORS[target.span.range()], "PRESSURE");
    let hover = analysis.hover(at("B4 as PRE")).unwrap();
    assert_eq!(&PRESSURE[hover.span.range()], "PRESSURE");
    assert_eq!(
        hover.markdown,
        "**PRESSURE** · kind of sensor, three-wire pressure sensor\n\nA part may set\n\n\
         - PLUG (X1), its plug\n- CURRENT (8 mA)"
    );
    let part = analysis.hover(at("sensor B")).unwrap().markdown;
    assert!(part.contains("Of kind: PRESSURE\n"), "{part}");
    // The plug is declared where the part names it, its pins where the part names its kind.
    let target = analysis.definition(at("W1 X3")).unwrap();
    assert_eq!((target.file, &PRESSURE[target.span.range()]), (file, "PRESSURE"));
    let hover = analysis.hover(at("with PLUG X3")).unwrap();
    assert!(hover.markdown.contains("**X34**"), "{}", hover.markdown);
}

#[test]
fn a_library_has_an_outline_too() {
    let mut host = Host::default();
    let file = host.set("sensors.circuit".into(), SENSORS);
    let symbols = host.analysis().symbols(file);
    assert_eq!(
        (symbols[0].name.as_str(), symbols[0].detail.as_str()),
        ("PRESSURE", "kind of sensor three-wire pressure sensor")
    );
    assert_eq!(symbols[0].children[0].name, "PLUG");
}

#[test]
fn what_nobody_has_open_and_nothing_open_uses_is_let_go() {
    let mut host = Host::default();
    let disk = Disk::with(&[("/cars/lib/power.circuit", POWER), ("/cars/lib/fuses.circuit", FUSES)]);
    let horn = host.set("/cars/tern/horn.circuit".into(), HORN);
    disk.load(&mut host, horn);
    let other = host.set("/cars/tern/other.circuit".into(), &HORN.replace("power", "fuses"));
    disk.load(&mut host, other);
    let known = |host: &Host| host.files().iter().count();
    assert_eq!(known(&host), 4);
    assert_eq!(host.let_go(horn, &|file| file == other).len(), 2, "the horn and what it alone used");
    assert!(host.files().id("/cars/lib/fuses.circuit".as_ref()).is_some(), "the other circuit uses it");
    assert!(host.let_go(other, &|file| file == other).is_empty(), "it is open");
    host.let_go(other, &|_| false);
    assert_eq!(known(&host), 0);
}

/// A new `use` line in a library reaches the circuits that use the library.
#[test]
fn who_uses_what_follows_every_edit() {
    let mut host = Host::default();
    let disk = Disk::with(&[("/cars/lib/power.circuit", POWER), ("/cars/lib/fuses.circuit", FUSES)]);
    let horn = host.set("/cars/tern/horn.circuit".into(), HORN);
    disk.load(&mut host, horn);
    assert_eq!(host.users("/cars/lib/fuses.circuit".as_ref()).first(), Some(&horn));
    host.set("/cars/lib/power.circuit".into(), "halfsplit 1\nlibrary \"power 20 °C 🔧\"\n");
    assert!(!host.users("/cars/lib/fuses.circuit".as_ref()).contains(&horn));
    assert!(rules(&mut host, horn).contains(&"unknown-name"));
    host.set("/cars/lib/power.circuit".into(), POWER);
    assert!(host.users("/cars/lib/fuses.circuit".as_ref()).contains(&horn));
    assert!(!rules(&mut host, horn).contains(&"unknown-name"));
}
