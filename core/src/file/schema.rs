//! JSON Schemas (draft 2020-12) of the files and of the output, for editors and for other programs.
//!
//! A schema knows the form: keys, sorts, words, simple bounds. What takes two places to see, such as a node that is not
//! there or a box inside out, only the reader knows. The lists of keys are the reader's own; a test holds them together.

/// The schema of one kind of file or output; `None` for a kind that is not known. See [`kinds`].
#[must_use]
pub fn schema(kind: &str) -> Option<&'static str> {
    ALL.iter().find(|(name, _)| *name == kind).map(|(_, text)| *text)
}

/// The kinds that have a schema: files first, then output.
pub fn kinds() -> impl Iterator<Item = &'static str> {
    ALL.iter().map(|(name, _)| *name)
}

const ALL: [(&str, &str); 14] = [
    ("job", include_str!("schema/job.json")),
    ("bender", include_str!("schema/bender.json")),
    ("bender-sizes", include_str!("schema/bender-sizes.json")),
    ("rules", include_str!("schema/rules.json")),
    ("test-bends", include_str!("schema/test-bends.json")),
    ("measured-part", include_str!("schema/measured-part.json")),
    ("survey", include_str!("schema/survey.json")),
    ("nodes", include_str!("schema/nodes.json")),
    ("rows", include_str!("schema/rows.json")),
    ("plan", include_str!("../plan/plan.schema.json")),
    ("calibration", include_str!("../calibrate/calibration.schema.json")),
    ("inspection", include_str!("../inspect/inspection.schema.json")),
    ("stock", crate::stock::document::JSON_SCHEMA),
    ("survey-result", include_str!("../survey/survey.schema.json")),
];

#[cfg(test)]
mod tests {
    use serde_json::{Map, Value as Json};

    use super::super::keys::{self, Keys};
    use super::super::tree::{Node, Value, parse};
    use super::*;

    fn json(kind: &str) -> Json {
        serde_json::from_str(schema(kind).unwrap()).unwrap()
    }

    /// What a file says, as JSON: figures that are no finite number stay text.
    fn plain(node: &Node) -> Json {
        match &node.value {
            Value::Nothing => Json::Null,
            Value::Truth(truth, _) => Json::Bool(*truth),
            Value::Number(text) => {
                let number = text.parse().ok().and_then(serde_json::Number::from_f64);
                number.map_or_else(|| Json::String(text.clone()), Json::Number)
            }
            Value::Text(text) => Json::String(text.clone()),
            Value::List(items) => items.iter().map(plain).collect(),
            Value::Map(entries) => Json::Object(
                entries
                    .iter()
                    .map(|entry| (entry.key.written().unwrap_or_default().to_owned(), plain(&entry.value)))
                    .collect::<Map<String, Json>>(),
            ),
        }
    }

    fn accepts(kind: &str, text: &str) -> bool {
        jsonschema::validator_for(&json(kind)).unwrap().is_valid(&plain(&parse(text).unwrap()))
    }

    fn samples(folder: &str) -> Vec<(String, String)> {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..").join(folder);
        let files = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let mut files: Vec<_> = files.filter(|path| path.extension().is_some_and(|ending| ending == "yaml")).collect();
        files.sort();
        let read = |path: &std::path::PathBuf| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            // One broken sample is not UTF-8.
            std::fs::read_to_string(path).ok().map(|text| (name, text))
        };
        files.iter().filter_map(read).collect()
    }

    #[test]
    fn every_schema_is_a_schema() {
        for kind in kinds() {
            let schema = json(kind);
            assert!(jsonschema::draft202012::meta::is_valid(&schema), "{kind}");
            assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema", "{kind}");
        }
        assert_eq!(schema("card game"), None);
    }

    #[test]
    fn the_keys_of_the_schemas_are_those_that_the_reader_takes() {
        let lists: [(&str, &[(&str, Keys)]); 9] = [
            (
                "job",
                &[
                    ("", keys::JOB),
                    ("stock", keys::STOCK),
                    ("mirror", keys::MIRROR),
                    ("plane", keys::PLANE),
                    ("suffix", keys::SUFFIX),
                    ("tube", keys::TUBE),
                    ("leg", keys::LEG),
                    ("included", keys::INCLUDED),
                    ("row", keys::ROW),
                    ("extra", keys::EXTRA),
                    ("ends", keys::ENDS),
                    ("end", keys::END),
                    ("bars", keys::BARS),
                    ("bar", keys::BAR),
                ],
            ),
            (
                "bender",
                &[
                    ("", keys::BENDER),
                    ("pin", keys::PIN),
                    ("pointer", keys::POINTER),
                    ("clearance", keys::CLEARANCE),
                    ("accuracy", keys::ACCURACY),
                    ("level", keys::LEVEL),
                    ("seconds", keys::SECONDS),
                    ("motions", keys::MOTIONS),
                    ("die", keys::DIE),
                    ("shapes", keys::SHAPES),
                    ("material", keys::MATERIAL),
                    ("springback", keys::SPRINGBACK),
                    ("measured", keys::MEASURED),
                    ("sd", keys::SD),
                    ("solid", keys::SOLID),
                    ("body", keys::BODY),
                    ("box", keys::BOX),
                    ("round", keys::ROUND),
                    ("mesh", keys::MESH),
                ],
            ),
            (
                "bender-sizes",
                &[
                    ("", keys::BENDER_SIZES),
                    ("floor", keys::SIZES_FLOOR),
                    ("die", keys::SIZES_DIE),
                    ("holder", keys::SIZES_HOLDER),
                    ("beside", keys::SIZES_BESIDE),
                    ("standing", keys::SIZES_STANDING),
                    ("plate", keys::SIZES_PLATE),
                    ("handle", keys::SIZES_HANDLE),
                    ("room", keys::SIZES_ROOM),
                ],
            ),
            ("rules", &[("", keys::RULES)]),
            (
                "test-bends",
                &[
                    ("", keys::TEST_BENDS),
                    ("tube", keys::TEST_TUBE),
                    ("accuracy", keys::TEST_ACCURACY),
                    ("bend", keys::TEST_BEND),
                ],
            ),
            (
                "measured-part",
                &[
                    ("", keys::MEASURED_PART),
                    ("accuracy", keys::PART_ACCURACY),
                    ("distance", keys::PART_DISTANCE),
                    ("touched", keys::PART_TOUCHED),
                    ("lying", keys::PART_LYING),
                    ("fit", keys::PART_FIT),
                ],
            ),
            (
                "survey",
                &[
                    ("", keys::SURVEY),
                    ("accuracy", keys::SURVEY_ACCURACY),
                    ("frame", keys::FRAME),
                    ("distance", keys::DISTANCE),
                    ("drop", keys::DROP),
                    ("levels", keys::LEVELS),
                    ("flush", keys::FLUSH),
                    ("symmetry", keys::SYMMETRY),
                    ("plane", keys::PLANE),
                ],
            ),
            ("nodes", &[("", keys::NODES)]),
            ("rows", &[("", keys::ROWS), ("row", keys::ROW)]),
        ];
        for (kind, blocks) in lists {
            let schema = json(kind);
            let mut with_keys: Vec<&str> = Vec::new();
            for (name, keys) in blocks {
                let block = if name.is_empty() { &schema } else { &schema["$defs"][name] };
                let Json::Object(properties) = &block["properties"] else { panic!("{kind} {name}") };
                assert_eq!(properties.keys().collect::<Vec<_>>(), keys.iter().collect::<Vec<_>>(), "{kind} {name}");
                assert_eq!(block["additionalProperties"], false, "{kind} {name}");
                with_keys.extend(Some(*name).filter(|name| !name.is_empty()));
            }
            let Json::Object(defs) = &schema["$defs"] else { panic!("{kind}") };
            let unheld = defs
                .iter()
                .filter(|(name, def)| def.get("properties").is_some() && !with_keys.contains(&name.as_str()));
            assert_eq!(unheld.count(), 0, "{kind}");
        }
    }

    #[test]
    fn every_sample_is_accepted() {
        for (kind, folder) in [
            ("job", "samples/jobs"),
            ("job", "samples/ends"),
            ("job", "samples/stock"),
            ("bender", "samples/benders"),
            ("bender-sizes", "samples/sizes"),
            ("rules", "samples/rules"),
            ("records", "samples/records"),
            ("survey", "samples/surveys"),
            ("job", "tests/python/jobs"),
            ("bender", "tests/python/benders"),
        ] {
            for (name, text) in samples(folder) {
                // Records are told apart by their names.
                let kind = match kind {
                    "records" if name.starts_with("part-") => "measured-part",
                    "records" => "test-bends",
                    other => other,
                };
                let schema = jsonschema::validator_for(&json(kind)).unwrap();
                let said = plain(&parse(&text).unwrap());
                let errors: Vec<String> = schema.iter_errors(&said).map(|error| error.to_string()).collect();
                assert!(errors.is_empty(), "{name}: {errors:?}");
            }
        }
        assert!(accepts("nodes", "kind: nodes\nunits: in\nclr: 5\nnodes: { a: [0, 0, 0], b: [30-1/2, 0, 0] }\n"));
        assert!(accepts(
            "rows",
            "kind: rows\nunits: mm\nclr: 127\nrows: [{ length: 10, bend: 45 }, { length: 1' 2\" }]\n"
        ));
    }

    /// Broken samples whose text cannot be read at all, or whose mistake takes more to see than their form.
    const NOT_OF_FORM: [&str; 101] = [
        "alias-unknown",
        "bender-box-inside-out",
        "bender-clr-below-half-od",
        "bender-cylinder-flat",
        "bender-keep-over-comfortable",
        "bender-mesh-format",
        "bender-mesh-missing",
        "bender-mesh-not-finite",
        "bender-mesh-open",
        "bender-mesh-unreadable",
        "bender-solid-in-the-way",
        "bender-up-leans",
        "bender-up-too-long",
        "bracket-open",
        "closed-path",
        "cope-no-straight",
        "cope-on-cut",
        "cope-past-end",
        "cope-too-flat",
        "cope-too-wide",
        "cope-torn",
        "die-angle-below-zero",
        "die-unknown",
        "die-unsaid",
        "dies-too-few",
        "empty",
        "end-crosses",
        "end-meets-itself",
        "end-misses",
        "end-not-near",
        "ends-mutual",
        "ends-tube-unknown",
        "file-is-folder",
        "file-missing",
        "key-twice",
        "last-row",
        "leg-too-short",
        "legs-and-bends-differ",
        "length-fraction",
        "length-too-long",
        "material-unknown",
        "meets-itself",
        "merge-key",
        "mirror-empty",
        "mirror-node-twice",
        "mirror-of-surveyed",
        "node-surveyed-twice",
        "node-unknown",
        "node-untold",
        "nodes-coincide",
        "od-unsaid",
        "part-bend-unknown",
        "part-job-missing",
        "part-legs-count",
        "part-no-bends",
        "part-node-unknown",
        "part-od-beside-job",
        "part-order",
        "part-other-units",
        "part-same-node",
        "part-tells-nothing",
        "part-tube-unknown",
        "part-two-planes",
        "record-accuracy-alone",
        "record-diameters-inch",
        "record-die-unknown",
        "record-included-angle",
        "record-lead-missing",
        "record-legs-of-another",
        "record-legs-short",
        "record-mark-off-blank",
        "record-other-units",
        "record-over-the-die",
        "record-tells-nothing",
        "reversal",
        "rotations-and-bends-differ",
        "row-without-bend",
        "second-document",
        "shape-clr-missing",
        "shape-clr-twice",
        "sizes-below-the-floor",
        "sizes-front-of-flat",
        "sizes-gap-zero",
        "sizes-inside-out",
        "sizes-measured-missing",
        "sizes-post-too-high",
        "survey-about-unknown",
        "survey-face-missing",
        "survey-frame-mistyped",
        "survey-frame-twice",
        "survey-from-to-same",
        "survey-inside-out",
        "survey-od-missing",
        "survey-one-pair",
        "survey-plane-of-three",
        "survey-plumb-missing",
        "survey-up-and-flat",
        "tag",
        "too-deep",
        "unsolved-survey",
        "wall-too-thick",
    ];

    #[test]
    fn every_broken_sample_of_form_is_refused_and_no_other() {
        let kind = |name: &str| match name.split('-').next() {
            Some("bender") => "bender",
            Some("sizes") => "bender-sizes",
            Some("rules") => "rules",
            Some("record") => "test-bends",
            Some("part") => "measured-part",
            Some("survey") => "survey",
            Some("shape") => "nodes",
            _ => "job",
        };
        let mut passed = Vec::new();
        for (name, text) in samples("samples/broken") {
            if parse(&text).is_err() || accepts(kind(&name), &text) {
                passed.push(name);
            }
        }
        assert_eq!(passed, NOT_OF_FORM);
    }
}
