//! `couplet completions` and `couplet man`, from the definitions of the command line.

use super::args::{Args, Completions, Man};
use super::files::{self, Target};
use super::output::Terminal;
use clap::CommandFactory;
use couplet::desk::Own;
use couplet::source::Files;
use couplet::study::failure::Failure;

/// Prints the completions for a shell.
pub fn completions(args: &Completions, terminal: &Terminal) -> Result<(), Failure> {
    let mut script = Vec::new();
    let mut command = Args::command();
    clap_complete::generate(args.shell, &mut command, "couplet", &mut script);
    terminal.print(&String::from_utf8_lossy(&script))
}

/// Prints the page of the program, or writes all pages.
pub fn man(args: &Man, terminal: &Terminal) -> Result<(), Failure> {
    let Some(folder) = &args.out_dir else {
        let mut page = Vec::new();
        clap_mangen::Man::new(Args::command())
            .render(&mut page)
            .map_err(Failure::output)?;
        return terminal.print(&String::from_utf8_lossy(&page));
    };
    files::make_folder(folder)?;
    let own = Own::none(&Files::on_disk());
    let mut program = Args::command().disable_help_subcommand(true);
    program.build();
    for command in program.get_subcommands().chain([&program]) {
        let man = clap_mangen::Man::new(command.clone());
        let mut page = Vec::new();
        man.render(&mut page).map_err(Failure::output)?;
        let target = Target::of(&folder.join(man.get_filename()), &own)?;
        target.put_bytes(&page, terminal)?;
    }
    Ok(())
}
