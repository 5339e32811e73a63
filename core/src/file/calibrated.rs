//! The result of test bends in the bender's file: under its die and its material, the rest as it was written.

use std::path::Path;

use super::edit::{At, Edit, New, Refused, apply};
use super::load::{load_bender, units_of};
use super::mistake::Mistakes;
use super::source::{Files, ReadError};
use super::test_bends::OpenRecord;
use super::tree::{self, Node, Value};
use crate::bender::Bender;
use crate::calibrate::{Calibration, Figure};
use crate::forming::{Diameters, Material, Measured, Springback, SpringbackSd};
use crate::units::{self, Angle, Length, LengthUnit};

/// A bender's file with the result of a record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// What it says now.
    pub text: String,
    /// Each change in words: where, what stood there, what stands there now.
    pub changes: Vec<String>,
}

/// Why a result is not written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotWritten {
    /// The springback law is not told, or its angles lie too near each other.
    #[error("the bends do not tell a springback law that is worth keeping")]
    NotFounded,
    /// The place cannot be changed without writing the file anew.
    #[error("`{0}` of the bender's file cannot be changed in place")]
    NotInPlace(At),
    /// The file would not be read any more.
    #[error("the bender's file would have mistakes")]
    Mistakes(Box<Mistakes>),
}

/// The bender's file of a record with what the record tells; `record_name` is what `measured` says of where it is kept.
///
/// Springback, and stretch where it is told, stand under the material, CLR and mark offset where they are told under the die, all in the units of the
/// file and rounded far below what they are known to. The file that comes out is read again: it has these figures and no other change.
///
/// # Errors
/// [`NotWritten`].
pub fn with_calibration(
    files: &dyn Files,
    opened: &OpenRecord,
    told: &Calibration,
    record_name: &str,
) -> Result<Written, NotWritten> {
    let (Some(constant), Some(proportional), true) = (told.constant, told.proportional, told.is_well_founded()) else {
        return Err(NotWritten::NotFounded);
    };
    let record = &opened.record;
    let before = opened.files.get(1).map_or("", |source| &*source.text);
    let unit = units_of(before).unwrap_or(LengthUnit::Mm);
    let die_name = record.die().name.clone();
    let die = At::top().key("dies").key(&die_name);
    let of_material = die.key("materials").key(&record.material);
    let figures = Figures { unit };
    let mut page = Page { text: before.to_owned(), changes: Vec::new() };
    let mut wanted = record.bender.clone();
    let die_now = &mut wanted.dies[record.die];
    if let Some(clr) = told.clr {
        page.put(&die, "clr", New::said(figures.length(clr.value)))?;
        die_now.clr = figures.read_length(clr.value);
    }
    if let Some(offset) = told.mark_offset {
        page.put(&die, "mark_offset", New::said(figures.length(offset.value)))?;
        die_now.mark_offset = figures.read_length(offset.value);
    }
    let law = vec![
        ("constant".to_owned(), New::said(degrees(constant.value))),
        ("proportional".to_owned(), New::said(part(proportional.value))),
    ];
    let mut material = vec![("springback".to_owned(), New::Map(law))];
    if let Some(stretch) = told.stretch {
        material.push(("stretch".to_owned(), New::said(part(stretch.value))));
    }
    material.push(("measured".to_owned(), New::Map(measured(opened, told, record_name, &figures))));
    page.put_under(&die, "materials", &record.material, material)?;
    let place = die_now.materials.iter().position(|known| known.name == record.material).unwrap_or_else(|| {
        die_now.materials.push(Material {
            name: record.material.clone(),
            springback: None,
            stretch: 0.0,
            radius_growth: true,
            measured: None,
        });
        die_now.materials.len() - 1
    });
    let now = &mut die_now.materials[place];
    now.springback = Some(Springback {
        constant: Angle::deg(number(&degrees(constant.value))),
        proportional: number(&part(proportional.value)),
    });
    if let Some(stretch) = told.stretch {
        now.stretch = number(&part(stretch.value));
    }
    now.measured = Some(Measured {
        date: record.date.clone(),
        lot: record.lot.clone(),
        od: Some(figures.read_length(record.od)),
        wall: record.wall.map(|wall| figures.read_length(wall)),
        record: Some(record_name.to_owned()),
        angles: told.angles.map(|(low, high)| (read_angle(low), read_angle(high))),
        diameters: across(opened)
            .map(|Diameters { largest, smallest }| Diameters {
                largest: figures.read_length(largest),
                smallest: figures.read_length(smallest),
            })
            .collect(),
        sd: constant.sd.zip(proportional.sd).map(|(constant, proportional)| SpringbackSd {
            constant: read_angle(constant),
            proportional: number(&part(proportional)),
            correlation: told.correlation().map(|value| number(&part(value))),
        }),
    });
    check(files, opened, &page.text, &wanted, &of_material)?;
    Ok(Written { text: page.text, changes: page.changes })
}

/// What `measured` says.
fn measured(opened: &OpenRecord, told: &Calibration, record_name: &str, figures: &Figures) -> Vec<(String, New)> {
    let record = &opened.record;
    let mut all = Vec::new();
    let mut say = |key: &str, said: Option<String>| all.extend(said.map(|said| (key.to_owned(), New::said(said))));
    say("date", record.date.clone());
    say("lot", record.lot.clone());
    say("od", Some(figures.length(record.od)));
    say("wall", record.wall.map(|wall| figures.length(wall)));
    say("record", Some(record_name.to_owned()));
    if let Some((low, high)) = told.angles {
        let angles = [low, high].map(|angle| New::said(degrees(angle))).to_vec();
        all.push(("angles".to_owned(), New::List(angles)));
    }
    let across: Vec<New> = across(opened)
        .map(|of| New::List([of.largest, of.smallest].map(|length| New::said(figures.length(length))).to_vec()))
        .collect();
    if !across.is_empty() {
        all.push(("diameters".to_owned(), New::List(across)));
    }
    fn sd<T: Copy>(figure: Option<Figure<T>>, shown: impl Fn(T) -> String) -> Option<String> {
        figure.and_then(|figure| figure.sd).map(shown)
    }
    let deviations = [
        ("constant", sd(told.constant, degrees)),
        ("proportional", sd(told.proportional, part)),
        ("correlation", told.correlation().map(part)),
        ("clr", sd(told.clr, |length| figures.length(length))),
        ("stretch", sd(told.stretch, part)),
        ("mark_offset", sd(told.mark_offset, |length| figures.length(length))),
    ];
    let deviations: Vec<_> =
        deviations.into_iter().filter_map(|(key, said)| Some((key.to_owned(), New::said(said?)))).collect();
    if !deviations.is_empty() {
        all.push(("sd".to_owned(), New::Map(deviations)));
    }
    all
}

/// Diameters of the bends that were measured across.
fn across(opened: &OpenRecord) -> impl Iterator<Item = Diameters> {
    opened.record.bends.iter().filter_map(|bend| bend.diameters)
}

/// Reads the new file: it has to be the bender that is wanted.
fn check(files: &dyn Files, opened: &OpenRecord, text: &str, wanted: &Bender, at: &At) -> Result<(), NotWritten> {
    let over = Over { files, path: &opened.bender_path, text };
    let found = load_bender(&over, &opened.bender_path).map_err(|mistakes| NotWritten::Mistakes(Box::new(mistakes)))?;
    if found == *wanted { Ok(()) } else { Err(NotWritten::NotInPlace(at.clone())) }
}

/// Files of which one says something else.
struct Over<'a> {
    files: &'a dyn Files,
    path: &'a Path,
    text: &'a str,
}

impl Files for Over<'_> {
    fn read(&self, path: &Path) -> Result<Vec<u8>, ReadError> {
        if path == self.path { Ok(self.text.as_bytes().to_vec()) } else { self.files.read(path) }
    }
}

/// How lengths are written: in the units of the file, to a thousandth of a millimetre or finer.
struct Figures {
    unit: LengthUnit,
}

impl Figures {
    fn length(&self, length: Length) -> String {
        let places = if self.unit == LengthUnit::Mm { 3 } else { 5 };
        decimal(length.to(self.unit), places)
    }

    fn read_length(&self, length: Length) -> Length {
        units::length(&self.length(length), self.unit).unwrap_or(length)
    }
}

fn degrees(angle: Angle) -> String {
    decimal(angle.to_deg(), 4)
}

fn read_angle(angle: Angle) -> Angle {
    Angle::deg(number(&degrees(angle)))
}

fn part(part: f64) -> String {
    decimal(part, 6)
}

fn decimal(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn number(text: &str) -> f64 {
    units::number(text).unwrap_or(f64::NAN)
}

/// A file that is changed step by step.
struct Page {
    text: String,
    changes: Vec<String>,
}

impl Page {
    fn tree(&self) -> Option<Node> {
        tree::parse(&self.text).ok()
    }

    fn apply(&mut self, edit: Edit, at: &At) -> Result<(), NotWritten> {
        let not = |_: Refused| NotWritten::NotInPlace(at.clone());
        let edited = apply(&self.text, &[edit]).map_err(not)?;
        if !edited.in_place {
            return Err(NotWritten::NotInPlace(at.clone()));
        }
        self.text = edited.text;
        Ok(())
    }

    /// Puts keys under a name in a block, such as a material under `materials`; block and name are made where they are not there.
    fn put_under(&mut self, of: &At, block: &str, name: &str, keys: Vec<(String, New)>) -> Result<(), NotWritten> {
        let there =
            |page: &Self, at: &At| page.tree().as_ref().and_then(|tree| at.of(tree)).map(|node| node.value.clone());
        let at = of.key(block).key(name);
        match (there(self, &of.key(block)), there(self, &at)) {
            (Some(Value::Map(_)), Some(Value::Map(_))) => {
                for (key, new) in keys {
                    self.put(&at, &key, new)?;
                }
                Ok(())
            }
            (Some(Value::Map(_)), _) => self.put(&of.key(block), name, New::Map(keys)),
            _ => self.put(of, block, New::Map(vec![(name.to_owned(), New::Map(keys))])),
        }
    }

    /// Puts a value under a key of a block, over what stands there.
    fn put(&mut self, of: &At, key: &str, new: New) -> Result<(), NotWritten> {
        let at = of.key(key);
        let tree = self.tree().ok_or_else(|| NotWritten::NotInPlace(at.clone()))?;
        let holder = of.of(&tree).ok_or_else(|| NotWritten::NotInPlace(at.clone()))?;
        let Value::Map(entries) = &holder.value else { return Err(NotWritten::NotInPlace(at)) };
        match (at.of(&tree), new) {
            (None, new) => {
                // A figure stands with the figures, before what has lines of its own below it.
                let after =
                    |entry: &tree::Entry| matches!(entry.key.written(), Some("shapes" | "materials" | "measured"));
                let place = entries.iter().position(after).unwrap_or(entries.len());
                self.changes.push(format!("{at}: {}", said(&new)));
                self.apply(Edit::Key { of: of.clone(), place, key: key.to_owned(), new }, &at)
            }
            (Some(node), New::Map(keys)) if matches!(node.value, Value::Map(_)) => {
                let Value::Map(old) = &node.value else { return Ok(()) };
                let stale: Vec<String> = old
                    .iter()
                    .filter_map(|entry| entry.key.written())
                    .filter(|key| keys.iter().all(|(wanted, _)| wanted != key))
                    .map(str::to_owned)
                    .collect();
                for (key, new) in keys {
                    self.put(&at, &key, new)?;
                }
                for key in stale {
                    self.changes.push(format!("{}: taken out", at.key(&key)));
                    self.apply(Edit::Remove { at: at.key(&key) }, &at.key(&key))?;
                }
                Ok(())
            }
            (Some(node), new) if node.value == Value::Nothing => {
                self.changes.push(format!("{at}: {}", said(&new)));
                self.apply(Edit::Fill { at: at.clone(), new }, &at)
            }
            (Some(node), New::Said(now)) if node.written().is_some() => {
                if node.written() == Some(now.as_str()) {
                    return Ok(());
                }
                self.changes.push(format!("{at}: {} -> {now}", node.written().unwrap_or_default()));
                self.apply(Edit::Set { at: at.clone(), said: now }, &at)
            }
            (Some(node), New::List(items))
                if matches!(&node.value, Value::List(old) if old.len() == items.len())
                    && items.iter().all(|item| matches!(item, New::Said(_))) =>
            {
                for (place, item) in items.into_iter().enumerate() {
                    let (New::Said(now), at) = (item, at.item(place)) else { continue };
                    self.apply(Edit::Set { at: at.clone(), said: now }, &at)?;
                }
                Ok(())
            }
            // A list of another length, or of lists: its place is kept, nothing of the old one is.
            (Some(node), New::List(items)) if matches!(node.value, Value::List(_)) => {
                let place = entries.iter().position(|entry| entry.key.written() == Some(key));
                let new = New::List(items);
                if says(node, &new) {
                    return Ok(());
                }
                self.changes.push(format!("{at}: {}", said(&new)));
                self.apply(Edit::Remove { at: at.clone() }, &at)?;
                self.apply(
                    Edit::Key { of: of.clone(), place: place.unwrap_or_default(), key: key.to_owned(), new },
                    &at,
                )
            }
            _ => Err(NotWritten::NotInPlace(at)),
        }
    }
}

/// Whether a value is written as it is to be.
fn says(node: &Node, new: &New) -> bool {
    match (new, &node.value) {
        (New::Said(now), _) => node.written() == Some(now.as_str()),
        (New::List(new), Value::List(old)) => {
            new.len() == old.len() && old.iter().zip(new).all(|(old, new)| says(old, new))
        }
        _ => false,
    }
}

/// What is put in, on one line, for people.
fn said(new: &New) -> String {
    match new {
        New::Said(said) => said.clone(),
        New::List(items) => format!("[{}]", items.iter().map(said).collect::<Vec<_>>().join(", ")),
        New::Map(entries) => {
            let entries: Vec<String> = entries.iter().map(|(key, new)| format!("{key}: {}", said(new))).collect();
            format!("{{ {} }}", entries.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Held, load_test_bends};
    use super::*;
    use crate::calibrate::calibrate;

    const BENDER: &str = "# The bender.
kind: bender
units: in                 # as on the tape
motion: die-turns
hand: anticlockwise
bend_plane: horizontal
centre_height: 34
dies:
  five:                   # the large one
    od: 1-1/2
    clr: 5                # as stamped
    max_angle: 195
    clamp_length: 3
    follower_length: 6
    materials:
      # of the rack
      steel: { springback: { proportional: 0.02 }, measured: { lot: old, od: 1.5, record: x.yaml } }   # to be measured
      alloy:
      last:
        springback:
          constant: 1     # a guess
  bare: { od: 1-1/2, clr: 4, max_angle: 180, clamp_length: 3, follower_length: 6 }
";

    fn opened(die: &str, material: &str, bends: &str) -> (Held, OpenRecord) {
        let record = format!(
            "kind: test-bends\nunits: mm\nbender: b.yaml\ndie: {die}\nmaterial: {material}\ntube: {{ od: 38.1, wall: 2.4 }}\nlot: 'rack 4: top'\n\
             accuracy: {{ length: 0.5, angle: 0.2 }}\nbends:\n{bends}"
        );
        let files = Held::default().with("r.yaml", record).with("b.yaml", BENDER);
        let opened = load_test_bends(&files, Path::new("r.yaml")).unwrap_or_else(|mistakes| panic!("{mistakes}"));
        (files, opened)
    }

    const ALL: &str = "  - { reading: 32.0, angle: 29.9, blank: 620, mark: 250, lead: A, legs: [288.5, 333.5] }
  - { reading: 93.5, angle: 90.0, blank: 680.5, mark: 250, lead: A, legs: [385.5, 354.5] }
  - { reading: 124.5, angle: 120.9, blank: 720.5, mark: 430, lead: B, legs: [384, 524] }
";
    const ANGLES: &str = "  - { reading: 32.0, angle: 30.0 }\n  - { reading: 93.5, angle: 90.0 }\n";

    fn written(die: &str, material: &str, bends: &str) -> Written {
        let (files, opened) = opened(die, material, bends);
        let told = calibrate(&opened.record).unwrap();
        let written =
            with_calibration(&files, &opened, &told, "records/r.yaml").unwrap_or_else(|fault| panic!("{fault}"));
        // Every remark is still there, and every line that does not have a figure of this material.
        for line in BENDER.lines() {
            if let Some((_, remark)) = line.split_once('#') {
                assert!(written.text.contains(remark), "{line}\n{}", written.text);
            }
        }
        written
    }

    #[test]
    fn figures_and_deviations_stand_under_die_and_material() {
        let Written { text, changes } = written("five", "steel", ALL);
        assert!(text.contains("    clr: 5.0"), "{text}");
        assert!(text.contains("mark_offset: 0."), "{text}");
        assert!(text.find("mark_offset").unwrap() < text.find("materials").unwrap(), "{text}");
        let line = text.lines().find(|line| line.trim_start().starts_with("steel:")).unwrap();
        for words in [
            "constant: 1.",
            "proportional: 0.0",
            "stretch: 0.0",
            "lot: 'rack 4: top'",
            "od: 1.5",
            "wall: 0.09449",
            "record: records/r.yaml",
            "sd: { constant: 0.",
        ] {
            assert!(line.contains(words), "{words}: {line}");
        }
        assert!(changes.iter().any(|change| change.starts_with("dies / five / clr: 5 -> 5.0")), "{changes:?}");
    }

    #[test]
    fn a_material_is_filled_in_or_added_wherever_it_is_missing() {
        let text = written("five", "alloy", ANGLES).text;
        assert!(
            text.contains("      alloy: { springback: { constant: 1.25, proportional: 0.025 }, measured: {"),
            "{text}"
        );
        assert!(text.contains("    clr: 5                # as stamped"), "nothing was measured of it: {text}");
        let text = written("five", "last", ANGLES).text;
        assert!(text.contains("          constant: 1.25     # a guess\n          proportional: 0.025\n"), "{text}");
        let text = written("five", "new one", ANGLES).text;
        assert!(
            text.contains("\n      new one: { springback: { constant: 1.25, proportional: 0.025 }, measured: {"),
            "{text}"
        );
        let text = written("bare", "new", ANGLES).text;
        assert!(text.contains("follower_length: 6, materials: { new: { springback:"), "{text}");
    }

    #[test]
    fn what_was_of_an_older_record_does_not_stay() {
        let text = written("five", "steel", ANGLES).text;
        assert!(!text.contains("lot: old") && !text.contains("x.yaml"), "{text}");
        // A second time changes nothing but finds its figures again.
        let (files, mut opened) = opened("five", "steel", ANGLES);
        let told = calibrate(&opened.record).unwrap();
        let files = files.with("b.yaml", text.as_str());
        opened.files[1].text = text.as_str().into();
        opened.record.bender = load_bender(&files, Path::new("b.yaml")).unwrap();
        let again = with_calibration(&files, &opened, &told, "records/r.yaml").unwrap();
        assert_eq!((again.text, again.changes), (text, Vec::new()));
    }

    /// The inches of the file: 1.535 in is 39.0 mm to 1e-5 in.
    #[test]
    fn diameters_of_all_bends_are_kept_and_give_way_to_those_of_the_next_record() {
        let across = |one: &str, other: &str| {
            format!(
                "  - {{ reading: 32.0, angle: 30.0, {one} }}\n  - {{ reading: 93.5, angle: 90.0, diameters: [38.989, 36.83] }}\n  - {{ reading: \
                 124.5, angle: 120.3, {other} }}\n"
            )
        };
        let two = written("five", "steel", &across("measured: centre", "diameters: [39.37, 36.576]")).text;
        assert!(two.contains(" diameters: [[1.535, 1.45], [1.55, 1.44]]"), "{two}");
        let (files, mut opened) = opened("five", "steel", &across("diameters: [38.1, 37.592]", "measured: centre"));
        let told = calibrate(&opened.record).unwrap();
        let files = files.with("b.yaml", two.as_str());
        opened.files[1].text = two.as_str().into();
        opened.record.bender = load_bender(&files, Path::new("b.yaml")).unwrap();
        let again = with_calibration(&files, &opened, &told, "records/r.yaml").unwrap();
        assert!(again.text.contains(" diameters: [[1.5, 1.48], [1.535, 1.45]]"), "{}", again.text);
        assert_eq!(again.changes.len(), 1, "{:?}", again.changes);
        // A record without any takes the old ones away.
        assert!(!written("five", "steel", ANGLES).text.contains("diameters"));
    }

    #[test]
    fn angles_that_lie_too_near_are_not_written() {
        for bends in [
            "  - { reading: 93.5, angle: 90.0 }\n",
            "  - { reading: 93.5, angle: 90.0 }\n  - { reading: 64, angle: 60.1 }\n",
            "  - { angle: 45, blank: 620, legs: [320, 302] }\n  - { angle: 120, blank: 680, legs: [480, 354.5] }\n",
        ] {
            let (files, opened) = opened("five", "steel", bends);
            let told = calibrate(&opened.record).unwrap();
            assert_eq!(with_calibration(&files, &opened, &told, "r.yaml"), Err(NotWritten::NotFounded));
        }
    }

    #[test]
    fn a_value_that_is_used_twice_is_not_changed_in_place() {
        let (files, mut opened) = opened("five", "steel", ALL);
        let shared = BENDER.replace("clr: 5 ", "clr: &r 5 ").replace("clr: 4", "clr: *r");
        opened.files[1].text = shared.as_str().into();
        opened.record.bender =
            load_bender(&files.clone().with("b.yaml", shared.as_str()), Path::new("b.yaml")).unwrap();
        let told = calibrate(&opened.record).unwrap();
        let refused = with_calibration(&files.with("b.yaml", shared), &opened, &told, "r.yaml").unwrap_err();
        assert!(matches!(refused, NotWritten::NotInPlace(_)), "{refused}");
    }

    #[test]
    fn figures_that_no_bender_can_have_are_not_written() {
        let (files, opened) =
            opened("five", "steel", "  - { reading: 40, angle: 30.0 }\n  - { reading: 85, angle: 90.0 }\n");
        let told = calibrate(&opened.record).unwrap();
        let refused = with_calibration(&files, &opened, &told, "r.yaml").unwrap_err();
        assert!(matches!(refused, NotWritten::Mistakes(_)), "{refused}");
    }
}
