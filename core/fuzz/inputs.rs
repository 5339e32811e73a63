//! What each fuzz target does with its input. None of it may panic, whatever the input; a few promises that hold for
//! every input are looked at on the way.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use tubewright::calibrate::{calibrate, document::Document as Calibration};
use tubewright::file::mistake::Mistakes;
use tubewright::file::{
    Files, Held, ReadError, ShapeFormat, load_bender, load_bender_sizes, load_job, load_survey, load_test_bends,
    open_job, read_mesh, read_shape, write_bender, write_nodes, write_rows,
};
use tubewright::plan::{Options, document::Document, plan as make_plan};
use tubewright::round::People;
use tubewright::survey::{document::Document as Surveyed, survey as solve_survey};
use tubewright::units::{self, LengthUnit};

/// The bender that jobs are held against: the sample with every sort of solid that is quick to look at.
const BENDER: &str = include_str!("../../samples/benders/floor-bender.yaml");

/// A tetrahedron, for benders that name a mesh.
const MESH: &str = "v 0 0 300\nv 30 0 300\nv 0 30 300\nv 0 0 330\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n";

/// A folder in which one file is the input, every other YAML file is the sample bender, and every mesh is the same.
struct Folder<'a> {
    input: &'a [u8],
}

impl Files for Folder<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        match path.extension().and_then(|ending| ending.to_str()) {
            _ if path == Path::new("input.yaml") => Ok(self.input.to_vec()),
            Some("yaml") => Ok(BENDER.into()),
            Some("obj") => Ok(MESH.into()),
            _ => Err(ReadError::Missing),
        }
    }
}

/// Mistakes can always be shown, and there are some.
fn show(mistakes: &Mistakes) {
    assert!(!mistakes.list.is_empty(), "refused without a reason");
    for colour in [false, true] {
        assert!(!mistakes.render(colour).is_empty());
    }
    for mistake in &mistakes.list {
        let (line, column) = mistakes.line_column(&mistake.place);
        assert!(line > 0 && column > 0 && !mistake.message.is_empty() && !mistake.help.is_empty());
    }
}

/// Text to a length or to a number.
pub(crate) fn length(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    for unit in LengthUnit::ALL {
        match units::length(&text, unit) {
            Ok(length) => assert!(length.to_mm().is_finite()),
            Err(refusal) => assert!(text.get(refusal.at).is_some() && !refusal.reason.is_empty()),
        }
    }
    match units::number(&text) {
        Ok(number) => assert!(number.is_finite()),
        Err(refusal) => assert!(text.get(refusal.at).is_some()),
    }
}

/// A job's text to a job.
pub(crate) fn job(data: &[u8]) {
    match open_job(&Folder { input: data }, Path::new("input.yaml")) {
        Ok(opened) => assert_eq!(opened.job.tubes.len(), opened.places.tubes.len()),
        Err(mistakes) => show(&mistakes),
    }
}

/// A bender's text to a bender.
pub(crate) fn bender(data: &[u8]) {
    if let Err(mistakes) = load_bender(&Folder { input: data }, Path::new("input.yaml")) {
        show(&mistakes);
    }
}

/// A bender's sizes to its file, which is read back as that bender.
pub(crate) fn sizes(data: &[u8]) {
    let sizes = match load_bender_sizes(&Folder { input: data }, Path::new("input.yaml")) {
        Ok(sizes) => sizes,
        Err(mistakes) => return show(&mistakes),
    };
    let files = Held::default().with("bender.yaml", write_bender(&sizes, "input.yaml"));
    let bender = load_bender(&files, Path::new("bender.yaml")).expect("what is written can be read");
    assert_eq!(bender.name, sizes.bender().name);
    assert_eq!(bender.solids.len(), sizes.bender().solids.len());
}

/// The bytes of a mesh: the first one says which format.
pub(crate) fn mesh(data: &[u8]) {
    let Some((first, rest)) = data.split_first() else { return };
    let name = if first % 2 == 0 { "input.stl" } else { "input.obj" };
    if let Ok(mesh) = read_mesh(Path::new(name), rest, 1.0, Default::default()) {
        let count = mesh.points.len() as u32;
        assert!(mesh.triangles.iter().flatten().all(|corner| *corner < count));
        assert!(mesh.points.iter().all(|point| point.iter().all(|value| value.is_finite())));
    }
}

/// A table to a shape, and back to a table that is read as the same shape.
pub(crate) fn csv(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    for format in [ShapeFormat::Csv, ShapeFormat::Yaml] {
        let clr = (format == ShapeFormat::Csv).then_some("50 mm");
        let shape = match read_shape("input", &text, format, clr) {
            Ok(shape) => shape,
            Err(mistakes) => {
                show(&mistakes);
                continue;
            }
        };
        let _ = write_rows(&shape, ShapeFormat::Yaml, LengthUnit::Inch);
        if let Ok(nodes) = write_nodes(&shape, ShapeFormat::Csv, shape.units) {
            let again = read_shape("again", &nodes, ShapeFormat::Csv, Some("50 mm"));
            // Nodes that were made from rows or from another radius may lie too near for a path; names and figures hold.
            if let Ok(again) = again {
                assert_eq!(again.centreline.nodes, shape.centreline.nodes);
                assert_eq!(again.names, shape.names);
            }
        }
    }
}

/// A job's text to the whole plan and its document. Large jobs are left to the other targets.
pub(crate) fn plan(data: &[u8]) {
    let job = match load_job(&Folder { input: data }, Path::new("input.yaml")) {
        Ok(job) => job,
        Err(mistakes) => return show(&mistakes),
    };
    if job.tubes.iter().map(|tube| tube.dies.len()).sum::<usize>() > 12 {
        return;
    }
    let options = Options { tubes: Vec::new(), order: None, accept_tight: false, best: 1, people: People::mm() };
    let planned = make_plan(&job, &options, &AtomicBool::new(false), &mut |_| {})
        .expect("all tubes are asked for, in no stated order");
    assert_eq!(planned.tubes.len(), job.tubes.len());
    let json = Document::new(&planned).to_json();
    assert!(json.starts_with('{') && !json.contains("NaN"));
}

/// A record of test bends, and what it tells: figures that can be written, and no deviation of what is not told.
pub(crate) fn record(data: &[u8]) {
    let opened = match load_test_bends(&Folder { input: data }, Path::new("input.yaml")) {
        Ok(opened) => opened,
        Err(mistakes) => return show(&mistakes),
    };
    let record = &opened.record;
    let Ok(told) = calibrate(record) else { return };
    let notes = told.notes(record, &People::mm());
    assert!(notes.iter().all(|note| !note.text.is_empty()));
    assert_eq!(told.constant.is_some(), told.proportional.is_some());
    assert_eq!(told.bends.len(), record.bends.len());
    let document = Calibration::new(record, &told, &notes).to_json();
    assert!(document.starts_with("{\n  \"schema\": \"tubewright/calibration/1\""));
}

/// A survey, and what it tells: figures that can be written, and nothing of a point that is not told. Large ones are left to other tests.
pub(crate) fn survey(data: &[u8]) {
    let record = match load_survey(&Folder { input: data }, Path::new("input.yaml")) {
        Ok(record) => record,
        Err(mistakes) => return show(&mistakes),
    };
    if record.points.len() > 8 {
        return;
    }
    let told = match solve_survey(&record) {
        Ok(told) => told,
        Err(fault) => return assert!(!fault.to_string().is_empty()),
    };
    assert_eq!(told.points.len(), record.points.len());
    for (point, found) in told.points.iter().enumerate() {
        assert_eq!(found.point().is_none(), told.undetermined.contains(&point));
        assert!(found.at.iter().flatten().chain(found.sd.iter().flatten()).all(|figure| figure.is_finite()));
    }
    assert!(told.misread.iter().filter(|misread| misread.sure).count() <= 1);
    let notes = told.notes(&record, &People::mm());
    let document = Surveyed::new(&record, &told, &notes, &People::mm()).to_json();
    assert!(document.starts_with("{\n  \"schema\": \"tubewright/survey/1\"") && !document.contains("NaN"));
}
