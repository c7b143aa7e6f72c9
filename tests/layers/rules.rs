//! What must hold of a tree of source files.

use super::tree::Tree;

/// Modules in the order of the flow; those of one line may know one another.
pub type Flow<'f> = &'f [&'f [&'f str]];

/// Uses of a module that stands later, as `file uses path`.
pub fn upward(tree: &Tree, flow: Flow<'_>) -> Vec<String> {
    let place = |name: &str| flow.iter().position(|names| names.contains(&name));
    let mut found = Vec::new();
    for name in flow.iter().copied().flatten() {
        for file in tree.files_of(name) {
            let own = tree.uses(file).filter(|u| u.is_own);
            let later = own.filter(|u| {
                let of = u.path.first().and_then(|first| place(first));
                of > place(name)
            });
            found.extend(later.map(|u| format!("{file} uses {}", u.path.join("::"))));
        }
    }
    found
}

/// Files of a module that use another crate or module of this name.
pub fn uses_of(tree: &Tree, module: &str, name: &str) -> Vec<String> {
    let files = tree.files_of(module);
    let uses = files.flat_map(|file| tree.uses(file).map(move |u| (file, u)));
    uses.filter(|(_, u)| u.path.first().is_some_and(|first| first == name))
        .map(|(file, u)| format!("{file} uses {}", u.path.join("::")))
        .collect()
}

/// Files that use `unsafe`, or let others use it.
pub fn unsafe_in(tree: &Tree) -> Vec<String> {
    let words = tree.files().flat_map(|file| {
        let words = tree.unsafe_words(file);
        words.map(move |word| format!("{file} says {word}"))
    });
    words.collect()
}

/// Files of a module that print or end the program.
pub fn loud(tree: &Tree, module: &str) -> Vec<String> {
    const MACROS: [&str; 5] = ["print", "println", "eprint", "eprintln", "dbg"];
    let mut found = Vec::new();
    for file in tree.files_of(module) {
        let macros = tree.macros(file).filter(|name| MACROS.contains(name));
        found.extend(macros.map(|name| format!("{file} calls {name}!")));
        let ends = tree
            .uses(file)
            .filter(|u| u.path.ends_with(&["process".into(), "exit".into()]));
        found.extend(ends.map(|_| format!("{file} ends the program")));
    }
    found
}
