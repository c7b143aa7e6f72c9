//! What a run says on standard error.

/// All but its progress (`12 s: …`), which is told on a slow machine.
pub fn said(stderr: &[u8]) -> String {
    let is_progress = |line: &str| {
        let seconds = line.split_once(" s: ").map(|(seconds, _)| seconds);
        seconds.is_some_and(|s| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit()))
    };
    let text = String::from_utf8_lossy(stderr);
    let lines = text.lines().filter(|line| !is_progress(line));
    lines.map(|line| format!("{line}\n")).collect()
}
