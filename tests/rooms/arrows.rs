//! The house as the code has it: which room and which file knows which, read from every path in `src`.
//!
//! Arrows run down only: no room knows one that stands above it, and neither rooms nor files go round in a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use syn::visit::{self, Visit};

type Failure = Box<dyn std::error::Error>;

/// Each room with the rooms it may know, lowest first. A new room stands in this table before it compiles here.
const ROOMS: [(&str, &[&str]); 18] = [
    ("optics", &[]),
    ("kit", &["optics"]),
    ("frame", &["optics", "kit"]),
    ("stacking", &["optics", "kit", "frame"]),
    ("keeping", &["optics", "kit", "frame", "stacking"]),
    ("exam", &["optics", "kit", "frame", "stacking"]),
    ("guide", &["optics", "kit", "frame", "stacking", "exam"]),
    ("day", &["optics", "kit", "exam", "guide"]),
    ("practice", &["optics", "kit", "frame", "stacking", "exam", "guide"]),
    ("sharing", &[]),
    ("logbook", &["optics", "kit", "frame", "exam", "day", "practice", "sharing"]),
    ("export", &["optics", "kit", "frame", "exam"]),
    ("sheets", &["kit", "keeping", "exam", "day", "logbook", "export"]),
    ("import", &["optics", "exam", "export"]),
    (
        "session",
        &[
            "optics", "kit", "frame", "stacking", "keeping", "exam", "guide", "day", "practice", "sharing", "logbook",
            "export", "sheets",
        ],
    ),
    (
        "screen",
        &[
            "optics", "kit", "frame", "stacking", "keeping", "exam", "guide", "day", "practice", "sharing", "export",
            "sheets", "session",
        ],
    ),
    // beside the screen: neither knows the other, and what they have in common stands in `sharing`
    ("room", &["exam", "sharing", "logbook", "session"]),
    (
        "command",
        &[
            "optics", "kit", "frame", "stacking", "keeping", "exam", "guide", "day", "practice", "sharing", "logbook",
            "export", "sheets", "import", "session", "screen", "room",
        ],
    ),
];

/// A module by the names that lead to it from the root of the crate.
type Module = Vec<String>;

/// One file of `src`: what it declares, hands on and uses.
#[derive(Default)]
struct Source {
    /// The modules that it declares.
    children: BTreeSet<String>,
    /// Names that it hands on from elsewhere, with where they come from.
    handed_on: BTreeMap<String, Module>,
    /// Every path in it, from the root of the crate.
    paths: BTreeSet<Module>,
}

struct Reader<'a> {
    module: &'a Module,
    source: Source,
}

impl Reader<'_> {
    /// A path from the root of the crate, when it leads into the crate.
    fn of_the_crate(&self, path: &[String]) -> Option<Module> {
        let (first, rest) = path.split_first()?;
        let mut at = match first.as_str() {
            "crate" => Vec::new(),
            "self" => self.module.clone(),
            "super" => self.module[..self.module.len().checked_sub(1)?].to_vec(),
            child if self.source.children.contains(child) => [self.module.as_slice(), &[child.to_owned()]].concat(),
            _ => return None,
        };
        for name in rest {
            if name == "super" {
                at.pop();
            } else {
                at.push(name.clone());
            }
        }
        Some(at)
    }
}

/// What a `use` names: each path, and the name that it has here.
pub(crate) fn leaves_of(tree: &syn::UseTree, so_far: &[String], found: &mut Vec<(Module, String)>) {
    let with = |name: String| [so_far, &[name]].concat();
    match tree {
        syn::UseTree::Path(path) => leaves_of(&path.tree, &with(path.ident.to_string()), found),
        syn::UseTree::Name(name) if name.ident == "self" => {
            found.push((so_far.to_vec(), so_far.last().cloned().unwrap_or_default()));
        }
        syn::UseTree::Name(name) => found.push((with(name.ident.to_string()), name.ident.to_string())),
        syn::UseTree::Rename(rename) => found.push((with(rename.ident.to_string()), rename.rename.to_string())),
        syn::UseTree::Glob(_) => found.push((so_far.to_vec(), "*".to_owned())),
        syn::UseTree::Group(group) => group.items.iter().for_each(|tree| leaves_of(tree, so_far, found)),
    }
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let mut leaves = Vec::new();
        leaves_of(&item.tree, &[], &mut leaves);
        for (path, name) in leaves {
            let Some(path) = self.of_the_crate(&path) else { continue };
            if matches!(item.vis, syn::Visibility::Inherited) {
                self.source.paths.insert(path);
            } else {
                // what is handed on is not used here: whoever takes it knows the file that it comes from
                self.source.handed_on.insert(name, path);
            }
        }
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names: Vec<String> = path.segments.iter().map(|segment| segment.ident.to_string()).collect();
        if names.len() > 1 {
            let path = self.of_the_crate(&names);
            self.source.paths.extend(path);
        }
        visit::visit_path(self, path);
    }
}

struct House {
    sources: BTreeMap<Module, Source>,
}

impl House {
    fn read() -> Result<Self, Failure> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut sources = BTreeMap::new();
        for file in rust_files(&root)? {
            let inside = file.strip_prefix(&root)?.with_extension("");
            let mut module: Module = inside.iter().map(|part| part.to_string_lossy().into_owned()).collect();
            if module.last().is_some_and(|name| name == "mod") {
                module.pop();
            }
            if module == ["main"] || module == ["lib"] {
                continue;
            }
            let parsed =
                syn::parse_file(&fs::read_to_string(&file)?).map_err(|e| format!("{}: {e}", file.display()))?;
            let declared = parsed.items.iter().filter_map(|item| match item {
                syn::Item::Mod(module) if module.content.is_none() => Some(module.ident.to_string()),
                _ => None,
            });
            let source = Source { children: declared.collect(), ..Source::default() };
            let mut reader = Reader { module: &module, source };
            reader.visit_file(&parsed);
            let source = reader.source;
            sources.insert(module, source);
        }
        Ok(Self { sources })
    }

    /// The file in which what a path names is written: what others hand on is followed to where it comes from.
    fn written_in(&self, path: &[String]) -> Option<&Module> {
        let (module, source) = (1..=path.len()).rev().find_map(|length| self.sources.get_key_value(&path[..length]))?;
        let rest = &path[module.len()..];
        match rest.first().and_then(|name| source.handed_on.get(name)) {
            Some(from) => self.written_in(&[from.as_slice(), &rest[1..]].concat()),
            None => Some(module),
        }
    }

    /// Which file knows which others.
    fn arrows(&self) -> BTreeMap<Module, BTreeSet<Module>> {
        let known = |module: &Module, source: &Source| {
            let known = source.paths.iter().filter_map(|path| self.written_in(path));
            known.filter(|known| *known != module).cloned().collect()
        };
        self.sources.iter().map(|(module, source)| (module.clone(), known(module, source))).collect()
    }
}

pub(crate) fn rust_files(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            files.extend(rust_files(&path)?);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

/// The circles: each one that is reached from itself, with those it knows that lead back to it.
fn circles<T: Ord + Clone>(arrows: &BTreeMap<T, BTreeSet<T>>) -> BTreeMap<T, BTreeSet<T>> {
    let reached_from = |one: &T| {
        let mut reached = BTreeSet::new();
        let mut next: Vec<&T> = arrows[one].iter().collect();
        while let Some(other) = next.pop() {
            if reached.insert(other.clone()) {
                next.extend(&arrows[other]);
            }
        }
        reached
    };
    let reached: BTreeMap<&T, BTreeSet<T>> = arrows.keys().map(|one| (one, reached_from(one))).collect();
    let back =
        |one: &T, knows: &BTreeSet<T>| knows.iter().filter(|other| reached[other].contains(one)).cloned().collect();
    let circles = arrows.iter().filter(|(one, _)| reached[one].contains(one));
    circles.map(|(one, knows)| (one.clone(), back(one, knows))).collect()
}

fn in_words(arrows: &BTreeMap<Module, BTreeSet<Module>>) -> String {
    let line = |(one, knows): (&Module, &BTreeSet<Module>)| {
        let knows: Vec<String> = knows.iter().map(|known| known.join("::")).collect();
        format!("{} knows {}", one.join("::"), knows.join(", "))
    };
    arrows.iter().map(line).collect::<Vec<_>>().join("\n")
}

#[test]
fn arrows_between_rooms_run_down() -> Result<(), Failure> {
    let rooms: BTreeMap<&str, &[&str]> = ROOMS.into_iter().collect();
    let house = House::read()?;
    let built: BTreeSet<&str> = house.sources.keys().filter_map(|module| module.first()).map(String::as_str).collect();
    assert_eq!(built, rooms.keys().copied().collect(), "a room is missing from the table of this test, or not built");
    let mut upwards = Vec::new();
    for (one, knows) in &house.arrows() {
        for known in knows.iter().filter(|known| known[0] != one[0]) {
            if !rooms[one[0].as_str()].contains(&known[0].as_str()) {
                upwards.push(format!("{} must not know {}", one.join("::"), known.join("::")));
            }
        }
    }
    assert!(upwards.is_empty(), "{}", upwards.join("\n"));
    Ok(())
}

/// The places where a way of refracting is written: what it holds true of people is its own.
const STRATEGIES: [[&str; 2]; 2] = [["guide", "ladder"], ["guide", "belief"]];

/// What a file names in whichever way: by a path, by handing it on, or through what another file hands on.
fn named_in<'a>(house: &'a House, module: &Module) -> BTreeSet<&'a [String]> {
    let source = &house.sources[module];
    let named = || source.paths.iter().chain(source.handed_on.values());
    let written = named().filter_map(|path| house.written_in(path)).map(Vec::as_slice);
    named().map(Vec::as_slice).chain(written).collect()
}

fn is_in(path: &[String], place: &[&str]) -> bool {
    path.len() >= place.len() && path.iter().zip(place).all(|(name, place)| name == place)
}

/// A way of refracting is never proved on the law that it believes: neither knows the other.
#[test]
fn practice_eyes_and_ways_of_refracting_know_nothing_of_each_other() -> Result<(), Failure> {
    let house = House::read()?;
    let guide = ROOMS.iter().position(|(room, _)| *room == "guide").ok_or("there is no guide")?;
    let below: BTreeSet<&str> = ROOMS[..=guide].iter().map(|(room, _)| *room).collect();
    let (mut wrong, mut by_its_doors) = (Vec::new(), 0);
    for module in house.sources.keys() {
        for path in named_in(&house, module) {
            let of_people = below.contains(module[0].as_str()) && is_in(path, &["practice"]);
            let of_a_strategy = module[0] == "practice" && STRATEGIES.iter().any(|strategy| is_in(path, strategy));
            if of_people || of_a_strategy {
                wrong.push(format!("{} must not name {}", module.join("::"), path.join("::")));
            }
            by_its_doors += usize::from(module[0] == "practice" && is_in(path, &["guide"]));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(by_its_doors > 0, "practice eyes enter by the doors of the guide");
    assert!(house.sources.keys().any(|module| is_in(module, &STRATEGIES[0])), "the ladder is written elsewhere");
    Ok(())
}

#[test]
fn rooms_stand_one_above_the_other() {
    for (place, (room, knows)) in ROOMS.iter().enumerate() {
        for known in *knows {
            assert!(
                ROOMS[..place].iter().any(|(lower, _)| lower == known),
                "{room} knows {known}, which is not below it"
            );
        }
    }
}

#[test]
fn no_file_knows_itself_by_a_circle() -> Result<(), Failure> {
    let circles = circles(&House::read()?.arrows());
    assert!(circles.is_empty(), "open these with a file below them:\n{}", in_words(&circles));
    Ok(())
}

/// Whether an attribute makes a test, or code for tests alone.
fn is_of_tests(attribute: &syn::Attribute) -> bool {
    let words = |tokens: String| tokens.split(|c: char| !c.is_alphanumeric()).any(|word| word == "test");
    let path = attribute.path();
    let is_condition = path.is_ident("cfg") || path.is_ident("cfg_attr");
    path.is_ident("test")
        || is_condition && attribute.meta.require_list().is_ok_and(|list| words(list.tokens.to_string()))
}

/// The attributes of one file that make tests.
#[derive(Default)]
struct TestAttributes(usize);

impl<'ast> Visit<'ast> for TestAttributes {
    fn visit_attribute(&mut self, attribute: &'ast syn::Attribute) {
        self.0 += usize::from(is_of_tests(attribute));
    }
}

/// The library is built without tests (`test = false`), so that one in `src` would never run.
#[test]
fn no_test_stands_in_src_where_it_would_not_run() -> Result<(), Failure> {
    let tests_in = |text: &str| -> Result<usize, Failure> {
        let mut found = TestAttributes::default();
        found.visit_file(&syn::parse_file(text)?);
        Ok(found.0)
    };
    assert_eq!(tests_in("#[cfg(test)] mod tests { #[test] fn one() {} } #[cfg(unix)] #[must_use] fn other() {}")?, 2);
    for file in rust_files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"))? {
        assert_eq!(tests_in(&fs::read_to_string(&file)?)?, 0, "move the tests of {} to tests/rooms", file.display());
    }
    Ok(())
}

#[test]
fn the_map_in_the_crate_names_the_rooms_in_this_order() -> Result<(), Failure> {
    let map = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs"))?;
    let named: Vec<&str> = map
        .lines()
        .filter_map(|line| line.strip_prefix("//! - [`").and_then(|rest| rest.split_once('`')).map(|(name, _)| name))
        .collect();
    assert_eq!(named, ROOMS.map(|(room, _)| room));
    Ok(())
}

#[test]
fn a_circle_is_found_and_what_leads_to_it_is_not_called_one() {
    let arrows = |pairs: &[(u8, u8)]| {
        let mut arrows: BTreeMap<u8, BTreeSet<u8>> = (0..6).map(|one| (one, BTreeSet::new())).collect();
        for &(one, other) in pairs {
            arrows.entry(one).or_default().insert(other);
        }
        arrows
    };
    assert!(circles(&arrows(&[(0, 1), (1, 2), (0, 2), (3, 2)])).is_empty());
    let found = circles(&arrows(&[(0, 1), (1, 2), (2, 1), (2, 3)]));
    assert_eq!(found.into_keys().collect::<Vec<_>>(), [1, 2]);
}
