//! Source files as they lie, and what each of them uses: read by a parser, so
//! that no way of writing a path goes unseen.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use syn::buffer::{Cursor, TokenBuffer};
use syn::visit::{self, Visit};

/// A module by its names from the root on; the root has none.
type Module = Vec<String>;

/// The name by which the program on top knows the library.
const LIBRARY: &str = "couplet";

/// What one file uses.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Use {
    /// The path from the root on, `crate` left out; of another crate, that
    /// crate's path.
    pub path: Vec<String>,
    /// True for a path into this crate.
    pub is_own: bool,
    /// True where it only hands the name on.
    pub is_export: bool,
}

/// One file.
#[derive(Debug)]
struct File {
    module: Module,
    uses: BTreeSet<Use>,
    /// What a `use` at the top of the file brings in, by its name there.
    names: BTreeMap<String, Module>,
    /// Macros that it calls.
    macros: BTreeSet<String>,
    /// `unsafe`, and attributes that let others use it.
    unsafe_words: BTreeSet<String>,
}

/// All files below `src/`, by their path there.
#[derive(Debug)]
pub struct Tree {
    files: BTreeMap<String, File>,
    of_module: BTreeMap<Module, String>,
}

impl Tree {
    /// The files of this program.
    pub fn of_this_crate() -> Tree {
        let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut files = BTreeMap::new();
        read(&src, "", &mut files);
        Tree::of(
            files
                .iter()
                .map(|(path, text)| (path.as_str(), text.as_str())),
        )
    }

    /// Files by their paths below `src/`, with their texts.
    pub fn of<'t>(files: impl Iterator<Item = (&'t str, &'t str)> + Clone) -> Tree {
        let modules: BTreeSet<Module> = files.clone().map(|(path, _)| module(path)).collect();
        let parsed = files.map(|(path, text)| (path.to_owned(), parse(path, text, &modules)));
        let files: BTreeMap<String, File> = parsed.collect();
        let of_module = files
            .iter()
            .map(|(path, f)| (f.module.clone(), path.clone()));
        Tree {
            of_module: of_module.collect(),
            files,
        }
    }

    /// The files of a module at the top, by path.
    pub fn files_of(&self, module: &str) -> impl Iterator<Item = &str> {
        let files = self.files.iter();
        let of = files.filter(move |(_, f)| f.module.first().is_some_and(|name| name == module));
        of.map(|(path, _)| path.as_str())
    }

    /// All files, by path.
    pub fn files(&self) -> impl Iterator<Item = &str> {
        self.files.keys().map(String::as_str)
    }

    /// Words of a file that stand for `unsafe`.
    pub fn unsafe_words(&self, file: &str) -> impl Iterator<Item = &str> {
        let file = self.files.get(file).into_iter();
        file.flat_map(|f| f.unsafe_words.iter().map(String::as_str))
    }

    /// What a file uses.
    pub fn uses(&self, file: &str) -> impl Iterator<Item = &Use> {
        self.files.get(file).into_iter().flat_map(|f| &f.uses)
    }

    /// The macros that a file calls.
    pub fn macros(&self, file: &str) -> impl Iterator<Item = &str> {
        let file = self.files.get(file).into_iter();
        file.flat_map(|f| f.macros.iter().map(String::as_str))
    }

    /// The circles of uses among the files of a module, each as the files that
    /// reach one another.
    pub fn circles(&self, module: &str) -> Vec<Vec<&str>> {
        let reach: BTreeMap<&str, BTreeSet<&str>> = (self.files_of(module))
            .map(|file| (file, self.reach(file, module)))
            .collect();
        let mut circles = BTreeSet::new();
        for (file, reached) in &reach {
            let back = |other: &&&str| reach.get(**other).is_some_and(|r| r.contains(file));
            let circle: Vec<&str> = reached.iter().filter(back).copied().collect();
            circles.extend((!circle.is_empty()).then_some(circle));
        }
        circles.into_iter().collect()
    }

    /// All files of the module to which a way of uses leads from the file.
    fn reach(&self, file: &str, module: &str) -> BTreeSet<&str> {
        let mut reached = BTreeSet::new();
        let mut open: Vec<&str> = self.next(file, module);
        while let Some(next) = open.pop() {
            if reached.insert(next) {
                open.extend(self.next(next, module));
            }
        }
        reached
    }

    /// The other files of the module that the file uses itself.
    fn next(&self, file: &str, module: &str) -> Vec<&str> {
        let own = self.uses(file).filter(|u| u.is_own && !u.is_export);
        let files = own.filter_map(|u| self.home(&u.path, 0));
        files
            .filter(|(path, f)| *path != file && f.module.first().is_some_and(|m| m == module))
            .map(|(path, _)| path)
            .collect()
    }

    /// The file in which what the path names is written, exports followed.
    fn home(&self, path: &[String], steps: usize) -> Option<(&str, &File)> {
        let known = (0..=path.len()).rev();
        let (file, rest) = known
            .filter_map(|n| Some((self.of_module.get(&path[..n])?, &path[n..])))
            .next()?;
        let found = self.files.get_key_value(file)?;
        let exported = rest.first().and_then(|name| found.1.names.get(name));
        if let Some(exported) = exported.filter(|_| steps < 8) {
            let path: Vec<String> = exported.iter().chain(&rest[1..]).cloned().collect();
            return self.home(&path, steps + 1);
        }
        Some((found.0.as_str(), found.1))
    }
}

fn read(folder: &Path, name: &str, files: &mut BTreeMap<String, String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = format!("{name}{}", path.file_name().unwrap().to_str().unwrap());
        if path.is_dir() {
            read(&path, &format!("{name}/"), files);
        } else if name.ends_with(".rs") {
            files.insert(name, fs::read_to_string(&path).unwrap());
        }
    }
}

/// `fit/rules.rs` is `fit::rules`, `fit/mod.rs` is `fit`.
fn module(path: &str) -> Module {
    let names = path.trim_end_matches(".rs").split('/');
    let mut names: Module = names.map(str::to_owned).collect();
    // The program's root has a name of its own, so that it is not the library's.
    if names
        .last()
        .is_some_and(|n| ["mod", "lib"].contains(&n.as_str()))
    {
        names.pop();
    }
    names
}

fn parse(path: &str, text: &str, modules: &BTreeSet<Module>) -> File {
    let parsed = syn::parse_file(text).unwrap_or_else(|e| panic!("{path}: {e}"));
    let mut reader = Reader {
        modules,
        here: module(path),
        depth: 0,
        file: File {
            module: module(path),
            uses: BTreeSet::new(),
            names: BTreeMap::new(),
            macros: BTreeSet::new(),
            unsafe_words: BTreeSet::new(),
        },
    };
    reader.visit_file(&parsed);
    let tokens = syn::parse_str(text).unwrap_or_else(|e| panic!("{path}: {e}"));
    unsafe_words(
        TokenBuffer::new2(tokens).begin(),
        "",
        &mut reader.file.unsafe_words,
    );
    reader.file
}

/// Gathers what stands for `unsafe`; `before` is the word before these tokens.
fn unsafe_words(mut cursor: Cursor<'_>, before: &str, found: &mut BTreeSet<String>) {
    let mut last = String::new();
    while !cursor.eof() {
        if let Some((word, after)) = cursor.ident() {
            last = word.to_string();
            match last.as_str() {
                "unsafe" => {
                    found.insert(last.clone());
                }
                "unsafe_code" if !["deny", "forbid"].contains(&before) => {
                    found.insert(format!("{before} unsafe_code"));
                }
                _ => {}
            }
            cursor = after;
        } else if let Some((inner, _, _, after)) = cursor.any_group() {
            unsafe_words(inner, &last, found);
            cursor = after;
        } else if let Some((_, after)) = cursor.token_tree() {
            cursor = after;
        }
    }
}

/// Gathers what a file uses, wherever in it.
struct Reader<'m> {
    modules: &'m BTreeSet<Module>,
    /// The module that is being read; deeper than the file's within `mod x { … }`.
    here: Module,
    /// How deep within `mod x { … }`.
    depth: usize,
    file: File,
}

impl Reader<'_> {
    /// Takes note of a path; gives it from the root on.
    fn path(&mut self, names: &[String], is_export: bool) -> Option<Module> {
        let (path, is_own) = self.rooted(names)?;
        let own = is_own.then(|| path.clone());
        self.file.uses.insert(Use {
            path,
            is_own,
            is_export,
        });
        own
    }

    fn rooted(&self, names: &[String]) -> Option<(Module, bool)> {
        let mut base = self.here.clone();
        let mut rest = names;
        match names.first()?.as_str() {
            "crate" | LIBRARY => (base, rest) = (Module::new(), &names[1..]),
            "self" => rest = &names[1..],
            "super" => {
                while rest.first().is_some_and(|name| name == "super") {
                    base.pop();
                    rest = &rest[1..];
                }
            }
            first => {
                base.push(first.to_owned());
                // A child, or a name of another crate, or one that a `use` brought in.
                match self.modules.contains(&base) {
                    true => rest = &names[1..],
                    false => return Some((names.to_vec(), false)),
                }
            }
        }
        base.extend_from_slice(rest);
        Some((base, true))
    }

    fn tree(&mut self, tree: &syn::UseTree, before: &mut Vec<String>, is_export: bool) {
        match tree {
            syn::UseTree::Path(path) => {
                before.push(path.ident.to_string());
                self.tree(&path.tree, before, is_export);
                before.pop();
            }
            syn::UseTree::Group(group) => {
                for tree in &group.items {
                    self.tree(tree, before, is_export);
                }
            }
            syn::UseTree::Glob(_) => {
                self.path(before, is_export);
            }
            syn::UseTree::Name(name) => {
                self.leaf(name.ident.to_string(), None, before, is_export);
            }
            syn::UseTree::Rename(rename) => {
                let new = rename.rename.to_string();
                self.leaf(rename.ident.to_string(), Some(new), before, is_export);
            }
        }
    }

    fn leaf(&mut self, name: String, new: Option<String>, before: &[String], is_export: bool) {
        let mut names = before.to_vec();
        if name != "self" || names.is_empty() {
            names.push(name);
        }
        let known = new.or_else(|| names.last().cloned());
        if let (Some(path), Some(known), 0) = (self.path(&names, is_export), known, self.depth) {
            self.file.names.insert(known, path);
        }
    }

    /// The paths in what a macro is given, which no grammar is known of.
    fn tokens(&mut self, mut cursor: Cursor<'_>) {
        while !cursor.eof() {
            if let Some((first, after)) = cursor.ident() {
                let mut names = vec![first.to_string()];
                cursor = after;
                while let Some((name, after)) = further(cursor) {
                    names.push(name);
                    cursor = after;
                }
                if names.len() > 1 {
                    self.path(&names, false);
                }
            } else if let Some((inner, _, _, after)) = cursor.any_group() {
                self.tokens(inner);
                cursor = after;
            } else if let Some((_, after)) = cursor.token_tree() {
                cursor = after;
            }
        }
    }
}

/// What follows of a path: `::name`.
fn further(cursor: Cursor<'_>) -> Option<(String, Cursor<'_>)> {
    let (one, cursor) = cursor.punct()?;
    let (two, cursor) = cursor.punct()?;
    let (name, cursor) = cursor.ident()?;
    (one.as_char() == ':' && two.as_char() == ':').then(|| (name.to_string(), cursor))
}

impl<'ast> Visit<'ast> for Reader<'_> {
    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let is_export = !matches!(item.vis, syn::Visibility::Inherited);
        self.tree(&item.tree, &mut Vec::new(), is_export);
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        self.here.push(item.ident.to_string());
        self.depth += 1;
        visit::visit_item_mod(self, item);
        self.depth -= 1;
        self.here.pop();
    }

    fn visit_path(&mut self, path: &'ast syn::Path) {
        let names: Vec<String> = path.segments.iter().map(|s| s.ident.to_string()).collect();
        if names.len() > 1 {
            self.path(&names, false);
        }
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, call: &'ast syn::Macro) {
        let name = call.path.segments.last().map(|s| s.ident.to_string());
        self.file.macros.extend(name);
        self.tokens(TokenBuffer::new2(call.tokens.clone()).begin());
        visit::visit_macro(self, call);
    }

    /// Where a name may be seen is no use of anything.
    fn visit_vis_restricted(&mut self, _: &'ast syn::VisRestricted) {}
}
