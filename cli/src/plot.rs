//! Where a picture goes that is asked for beside a document.

use std::path::Path;

use crate::args::OutputArgs;
use crate::exit::Exit;
use crate::output::Output;
use crate::say;

/// Where the picture goes, where one is asked for; `read` is the file that it is made from.
pub(crate) fn plot_output(plot: Option<&Path>, output: &OutputArgs, read: &Path) -> Result<Option<Output>, Exit> {
    let Some(path) = plot else { return Ok(None) };
    if path.extension().is_none_or(|extension| !extension.eq_ignore_ascii_case("svg")) {
        say::error(format_args!("the name {} does not say how to draw it", path.display()));
        say::help("a picture of the fit is an SVG file: let it end in .svg");
        return Err(Exit::Mistake);
    }
    if output.path.as_deref() == Some(path) {
        say::error("--output and --plot name the same file");
        return Err(Exit::Mistake);
    }
    Output::to(Some(path), output.force, &[read]).map(Some)
}
