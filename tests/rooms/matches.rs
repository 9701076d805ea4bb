//! Every choice among the variants of our enums is made beside the type or names each of them, so that a new variant does
//! not compile until each place has said something: read from every `match`, `matches!` and list of variants in `src`.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use syn::parse::ParseStream;
use syn::punctuated::Punctuated;
use syn::visit::{self, Visit};

use crate::arrows::{leaves_of, rust_files};

type Failure = Box<dyn std::error::Error>;

/// How a path into the crate begins.
const OF_THE_CRATE: [&str; 3] = ["crate", "super", "self"];

/// Choices that may leave variants unnamed: the file, the function, and why.
const EXCEPTIONS: [(&str, &str, &str); 2] = [
    (
        "guide/ladder/order.rs",
        "of_both_eyes",
        "there are keys for three; `place_for_one_eye` asks where a new one is offered",
    ),
    (
        "guide/ladder/order.rs",
        "usual_for_eye",
        "what every exam of an eye begins with; all else there is asked by predicates",
    ),
];

/// The names that a file takes from elsewhere in the crate.
#[derive(Default)]
struct Imports {
    names: BTreeSet<String>,
}

impl<'ast> Visit<'ast> for Imports {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let mut leaves = Vec::new();
        leaves_of(&item.tree, &[], &mut leaves);
        let of_the_crate = |path: &[String]| path.first().is_some_and(|first| OF_THE_CRATE.contains(&first.as_str()));
        self.names.extend(leaves.into_iter().filter(|(path, _)| of_the_crate(path)).map(|(_, name)| name));
    }
}

impl Imports {
    /// Whether a path leads to a variant of an enum that another file of the crate declares.
    fn is_foreign_variant(&self, path: &syn::Path) -> bool {
        let names: Vec<String> = path.segments.iter().map(|segment| segment.ident.to_string()).collect();
        let [.., name, variant] = names.as_slice() else { return false };
        let is_a_type = |name: &str| name.starts_with(char::is_uppercase) && name.contains(char::is_lowercase);
        is_a_type(name)
            && is_a_type(variant)
            && (self.names.contains(&names[0]) || OF_THE_CRATE.contains(&names[0].as_str()))
    }
}

/// What is found in one file.
struct Reader<'a> {
    imports: &'a Imports,
    /// The function that is read.
    function: String,
    /// The functions in which a choice leaves variants unnamed, one for each such choice.
    found: Vec<String>,
}

impl Reader<'_> {
    fn within(&mut self, function: &syn::Ident, read: impl FnOnce(&mut Self)) {
        let outer = std::mem::replace(&mut self.function, function.to_string());
        read(self);
        self.function = outer;
    }
}

/// Whether a pattern names a variant of an enum that another file declares.
struct Names<'a> {
    imports: &'a Imports,
    found: bool,
}

impl<'ast> Visit<'ast> for Names<'_> {
    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.found |= self.imports.is_foreign_variant(path);
        visit::visit_path(self, path);
    }
}

fn names_a_variant(imports: &Imports, pattern: &syn::Pat) -> bool {
    let mut names = Names { imports, found: false };
    names.visit_pat(pattern);
    names.found
}

fn alternatives(pattern: &syn::Pat) -> Vec<&syn::Pat> {
    match pattern {
        syn::Pat::Or(or) => or.cases.iter().flat_map(alternatives).collect(),
        syn::Pat::Paren(inner) => alternatives(&inner.pat),
        pattern => vec![pattern],
    }
}

/// Whether a pattern takes whatever comes.
fn takes_anything(pattern: &syn::Pat) -> bool {
    match pattern {
        syn::Pat::Wild(_) | syn::Pat::Rest(_) => true,
        // a name in capitals is a constant or a variant without its enum
        syn::Pat::Ident(name) => {
            name.subpat.is_none() && name.ident.to_string().starts_with(|c: char| c.is_lowercase() || c == '_')
        }
        syn::Pat::Reference(inner) => takes_anything(&inner.pat),
        syn::Pat::Tuple(tuple) => tuple.elems.iter().all(takes_anything),
        _ => false,
    }
}

/// Whether of the patterns for one place one takes anything while another names a variant; also within `Some(..)` and the like.
fn leaves_variants_unnamed(imports: &Imports, patterns: &[(&syn::Pat, bool)]) -> bool {
    let takes_rest = patterns.iter().any(|(pattern, guarded)| !guarded && takes_anything(pattern));
    if takes_rest && patterns.iter().any(|(pattern, _)| names_a_variant(imports, pattern)) {
        return true;
    }
    let mut inside: BTreeMap<(String, usize), Vec<(&syn::Pat, bool)>> = BTreeMap::new();
    for (pattern, guarded) in patterns {
        if let syn::Pat::TupleStruct(within) = pattern {
            let name = within.path.segments.iter().map(|part| part.ident.to_string()).collect::<Vec<_>>().join("::");
            for (place, inner) in within.elems.iter().enumerate() {
                let inner = alternatives(inner).into_iter().map(|inner| (inner, *guarded));
                inside.entry((name.clone(), place)).or_default().extend(inner);
            }
        }
    }
    inside.values().any(|patterns| leaves_variants_unnamed(imports, patterns))
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.within(&item.sig.ident, |reader| visit::visit_item_fn(reader, item));
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.within(&item.sig.ident, |reader| visit::visit_impl_item_fn(reader, item));
    }

    fn visit_expr_match(&mut self, choice: &'ast syn::ExprMatch) {
        let arms = choice.arms.iter();
        let patterns: Vec<_> = arms
            .flat_map(|arm| alternatives(&arm.pat).into_iter().map(|pattern| (pattern, arm.guard.is_some())))
            .collect();
        if leaves_variants_unnamed(self.imports, &patterns) {
            self.found.push(self.function.clone());
        }
        visit::visit_expr_match(self, choice);
    }

    fn visit_expr_array(&mut self, list: &'ast syn::ExprArray) {
        let is_a_variant = |element: &&syn::Expr| match element {
            syn::Expr::Path(variant) => self.imports.is_foreign_variant(&variant.path),
            _ => false,
        };
        if list.elems.iter().filter(is_a_variant).count() > 1 {
            self.found.push(self.function.clone());
        }
        visit::visit_expr_array(self, list);
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        if call.path.is_ident("matches") {
            let pattern = call.parse_body_with(|input: ParseStream| {
                input.parse::<syn::Expr>()?;
                input.parse::<syn::Token![,]>()?;
                let pattern = syn::Pat::parse_multi_with_leading_vert(input)?;
                if input.parse::<Option<syn::Token![if]>>()?.is_some() {
                    input.parse::<syn::Expr>()?;
                }
                input.parse::<Option<syn::Token![,]>>()?;
                Ok(pattern)
            });
            if pattern.is_ok_and(|pattern| names_a_variant(self.imports, &pattern)) {
                self.found.push(self.function.clone());
            }
        } else if let Ok(arguments) = call.parse_body_with(Punctuated::<syn::Expr, syn::Token![,]>::parse_terminated) {
            arguments.iter().for_each(|argument| self.visit_expr(argument));
        }
    }
}

/// The choices that leave variants of our enums unnamed: file and function.
fn unnamed(files: &BTreeMap<String, syn::File>) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for (name, file) in files {
        let mut imports = Imports::default();
        imports.visit_file(file);
        let mut reader = Reader { imports: &imports, function: String::new(), found: Vec::new() };
        reader.visit_file(file);
        found.extend(reader.found.into_iter().map(|function| (name.clone(), function)));
    }
    found
}

#[test]
fn a_choice_among_variants_stands_beside_the_type_or_names_them_all() -> Result<(), Failure> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = BTreeMap::new();
    for file in rust_files(&root)? {
        let name = file.strip_prefix(&root)?.display().to_string();
        files.insert(name, syn::parse_file(&fs::read_to_string(&file)?)?);
    }
    let found = unnamed(&files);
    let mut found: Vec<(&str, &str)> =
        found.iter().map(|(file, function)| (file.as_str(), function.as_str())).collect();
    let mut excepted = EXCEPTIONS.map(|(file, function, _)| (file, function));
    found.sort_unstable();
    excepted.sort_unstable();
    assert_eq!(found, excepted, "name the variants, or ask the type by a predicate beside it");
    Ok(())
}

#[test]
fn a_choice_that_would_take_a_new_variant_in_silence_is_found() -> Result<(), Failure> {
    let of_here = "
        pub enum Kind { Plus, Zero, Minus(u8) }
        fn beside(kind: Kind) -> bool { matches!(kind, Kind::Plus) }";
    let elsewhere = "
        use crossterm::Event;
        use super::here::{Kind, Kind as Other};
        enum Own { One, Two }
        fn all(kind: Kind) -> u8 { match kind { Kind::Plus | Kind::Zero => 0, Kind::Minus(power) => power } }
        fn own(own: Own) -> bool { match own { Own::One => true, _ => false } }
        fn others(event: Event) -> bool { match event { Event::Key => true, _ => false } }
        fn guarded(kind: Kind) -> u8 { match kind { _ if late() => 1, Kind::Plus | Kind::Zero => 0, Kind::Minus(power) => power } }
        fn rest(kind: Kind) -> u8 { match kind { Kind::Minus(power) => power, _ => 0 } }
        fn inside(kind: Option<Kind>) -> u8 { match kind { Some(Kind::Plus) => 1, Some(_) => 2, None => 3 } }
        fn paired(kind: Kind, own: Own) -> u8 { match (kind, own) { (Kind::Plus, Own::One) => 1, (_, other) => 2 } }
        fn renamed(kind: Other) -> u8 { match kind { Other::Plus => 1, _ => 2 } }
        fn spelt_out(kind: Kind) -> u8 { match kind { crate::here::Kind::Plus => 1, _ => 2 } }
        fn looked_up(kind: Kind) -> bool { [Kind::Plus, Kind::Zero].contains(&kind) }
        fn any_number(kind: Kind) -> Vec<Kind> { vec![Kind::Plus; 2] }
        fn listed(kind: Kind) -> bool { assert!(matches!(kind, Kind::Minus(power) if power > 2)); true }";
    let parsed = |text: &str| syn::parse_file(text);
    let files = BTreeMap::from([("here".to_owned(), parsed(of_here)?), ("there".to_owned(), parsed(elsewhere)?)]);
    let found = ["rest", "inside", "paired", "renamed", "spelt_out", "looked_up", "listed"]
        .map(|function| ("there".to_owned(), function.to_owned()));
    assert_eq!(unnamed(&files), found);
    Ok(())
}
