//! All forms of one record have the same figures: each is read back from its bytes, by readers that share nothing with the
//! writers, over drawn exams.

use dioptray::exam::prescription::CylinderForm;
use dioptray::exam::{Accepted, AcuityNote, Detail, Event, Through};
use dioptray::export::{ExportError, Record, RecordForm};
use dioptray::optics::{Acuity, ChartPlace, Eye, Eyes, Millimetres, Prism, SpheroCylinder};
use proptest::prelude::*;
use serde_json::Value;

use super::exams::{accepted, applied, opened, read, record, tried};
use super::read_back::spreadsheet::{Cell, column};
use super::read_back::{dicom, pdf, spreadsheet};

type Failure = Box<dyn std::error::Error>;

/// The figures of one eye, as far as a form has them.
#[derive(Debug, Clone, PartialEq, Default)]
struct Figures {
    sphere: Option<f64>,
    cylinder: Option<f64>,
    axis: Option<f64>,
    addition: Option<f64>,
    /// Amount and base, the horizontal part first.
    prism: Vec<(f64, String)>,
    pd: Option<f64>,
    /// Unaided, through a pinhole, with the old glasses, with the prescription.
    log_mar: [Option<f64>; 4],
}

/// Both eyes, and the distance for which glasses are written where the form says it of itself.
#[derive(Debug, Clone, PartialEq, Default)]
struct Said {
    eyes: Eyes<Figures>,
    vertex: Option<f64>,
}

fn by_eye(of: impl Fn(Eye) -> Result<Figures, Failure>) -> Result<Eyes<Figures>, Failure> {
    Ok(Eyes::new(of(Eye::Right)?, of(Eye::Left)?))
}

fn of_json(bytes: &[u8]) -> Result<Said, Failure> {
    let value: Value = serde_json::from_slice(bytes)?;
    let log_mar = |read: &Value| {
        let line = &read["line"];
        Some(line["mar"].as_f64()?.log10() - line["letters"].as_f64()? * 0.02)
    };
    let eyes = by_eye(|eye| {
        let of = &value[eye.to_string()];
        let written = &of["written"];
        let cylinder = written["cylinder"].as_f64().filter(|cylinder| *cylinder != 0.0);
        let parts = of["prism"].as_array().cloned().unwrap_or_default();
        let prism = parts.iter().map(|part| Some((part["amount"].as_f64()?, part["base"].as_str()?.to_owned())));
        Ok(Figures {
            sphere: written["sphere"].as_f64(),
            cylinder,
            axis: cylinder.and(written["axis"].as_f64()),
            addition: written["sphere"].as_f64().and(of["addition"].as_f64()),
            prism: prism.collect::<Option<_>>().ok_or("half a prism")?,
            pd: of["pd_mm"].as_f64(),
            log_mar: ["unaided", "pinhole", "with_old_glasses", "with_prescription"].map(|way| log_mar(&of[way])),
        })
    })?;
    Ok(Said { eyes, vertex: value["planned_vertex_mm"].as_f64() })
}

fn of_csv(bytes: &[u8]) -> Result<Said, Failure> {
    let table = spreadsheet::opened(bytes)?;
    let number = |row: usize, name: &str| match column(&table, row, name) {
        Some(Cell::Number(number)) => Ok(Some(*number)),
        Some(Cell::Empty) => Ok(None),
        other => Err(format!("{name} of row {row} is {other:?}")),
    };
    let eyes = by_eye(|eye| {
        let row = (1..table.len())
            .find(|row| column(&table, *row, "eye") == Some(&Cell::Text(eye.to_string())))
            .ok_or("an eye has no row")?;
        let mut prism = Vec::new();
        for direction in ["horizontal", "vertical"] {
            if let Some(amount) = number(row, &format!("{direction}_prism_pdpt"))? {
                let Some(Cell::Text(base)) = column(&table, row, &format!("{direction}_base")) else {
                    return Err("a prism without a base".into());
                };
                prism.push((amount, base.clone()));
            }
        }
        let mut log_mar = [None; 4];
        for (of, way) in log_mar.iter_mut().zip(["unaided", "pinhole", "old_glasses", "prescription"]) {
            *of = number(row, &format!("{way}_log_mar"))?;
            let part = |name: &str| number(row, &format!("{way}_{name}"));
            if let (Some(test), Some(line), Some(letters)) = (part("test_m")?, part("line_m")?, part("letters")?) {
                let computed = (line / test).log10() - letters * 0.02;
                let off = of.map_or(f64::INFINITY, |log_mar| (log_mar - computed).abs());
                assert!(off < 0.006, "{way}: {line} m at {test} m with {letters} letters is not {of:?}");
            } else {
                assert_eq!((part("test_m")?, part("line_m")?, part("letters")?, *of), (None, None, None, None));
            }
        }
        Ok(Figures {
            sphere: number(row, "sphere_d")?,
            cylinder: number(row, "cylinder_d")?.filter(|cylinder| *cylinder != 0.0),
            axis: number(row, "axis_deg")?,
            addition: number(row, "addition_d")?,
            prism,
            pd: number(row, "pd_mm")?,
            log_mar,
        })
    })?;
    Ok(Said { eyes, vertex: number(1, "planned_vertex_mm")? })
}

fn of_fhir(bytes: &[u8]) -> Result<Said, Failure> {
    let bundle: Value = serde_json::from_slice(bytes)?;
    let entries = bundle["entry"].as_array().ok_or("no entries")?;
    let resources: Vec<&Value> = entries.iter().map(|entry| &entry["resource"]).collect();
    let of_kind = |kind: &str| resources.iter().copied().filter(|of| of["resourceType"] == kind).collect::<Vec<_>>();
    let lenses: Vec<&Value> = of_kind("VisionPrescription")
        .into_iter()
        .flat_map(|prescription| prescription["lensSpecification"].as_array().into_iter().flatten())
        .collect();
    let observed = |begins: &str, eye: Eye| {
        let text = format!("{begins}, {eye} eye");
        let found = of_kind("Observation").into_iter().find(|of| of["code"]["text"] == text.as_str())?;
        found["valueQuantity"]["value"].as_f64()
    };
    let eyes = by_eye(|eye| {
        let lens = lenses.iter().find(|lens| lens["eye"] == eye.to_string()).copied().unwrap_or(&Value::Null);
        let parts = lens["prism"].as_array().cloned().unwrap_or_default();
        let prism = parts.iter().map(|part| Some((part["amount"].as_f64()?, part["base"].as_str()?.to_owned())));
        Ok(Figures {
            sphere: lens["sphere"].as_f64(),
            cylinder: lens["cylinder"].as_f64(),
            axis: lens["axis"].as_f64(),
            addition: lens["add"].as_f64(),
            prism: prism.collect::<Option<_>>().ok_or("half a prism")?,
            pd: observed("Pupillary distance from the middle of the nose", eye),
            log_mar: [
                "Uncorrected visual acuity",
                "Visual acuity through a pinhole",
                "Visual acuity with the glasses worn until now",
                "Best corrected visual acuity",
            ]
            .map(|way| observed(way, eye)),
        })
    })?;
    let vertex = of_kind("Observation")
        .into_iter()
        .find(|of| of["code"]["text"].as_str().is_some_and(|text| text.starts_with("Vertex distance")));
    Ok(Said { eyes, vertex: vertex.and_then(|of| of["valueQuantity"]["value"].as_f64()) })
}

/// A figure as people write it: a true minus sign, `plano` for none, a dash where there is none.
fn figure(text: &str) -> Result<Option<f64>, Failure> {
    match text {
        "–" => Ok(None),
        "plano" => Ok(Some(0.0)),
        _ => Ok(Some(text.replace('−', "-").trim_end_matches(" mm").parse()?)),
    }
}

/// The form for people: its rows, each with its cells, and all of its words on one line.
fn of_words(rows: &[Vec<String>], flat: &str) -> Result<Said, Failure> {
    let row = |name: &str| rows.iter().find(|row| row.first().is_some_and(|first| first.eq_ignore_ascii_case(name)));
    let eyes = by_eye(|eye| {
        let mut figures = Figures::default();
        let written = row(&format!("{eye} eye")).ok_or("an eye has no row")?;
        if let [_, sphere, cylinder, axis, addition @ ..] = written.as_slice()
            && let Ok(sphere) = figure(sphere)
        {
            figures.sphere = sphere;
            figures.cylinder = figure(cylinder)?;
            figures.axis = figure(axis)?;
            if figures.axis.is_some() && (axis.len() != 3 || !axis.chars().all(|digit| digit.is_ascii_digit())) {
                return Err(format!("the axis is written {axis}").into());
            }
            figures.addition = addition.first().map_or(Ok(None), |addition| figure(addition))?;
        }
        if let Some((_, said)) = flat.split_once(&format!("Prism in front of the {eye} eye: ")) {
            let mut words = said.split(' ');
            loop {
                let (amount, base) = (words.next().ok_or("no amount")?, words.nth(2).ok_or("no base")?);
                figures.prism.push((amount.parse()?, base.trim_end_matches(['.', '*']).to_owned()));
                if base.ends_with(['.', '*']) || words.next() != Some("with") {
                    break;
                }
            }
        }
        let column = 1 + usize::from(eye == Eye::Left);
        let cell = |name: &str| row(name).and_then(|row| row.get(column)).map(String::as_str);
        figures.pd = cell("pupillary distance").map_or(Ok(None), figure)?;
        for (of, way) in figures.log_mar.iter_mut().zip([
            "acuity unaided",
            "acuity, pinhole",
            "acuity with glasses",
            "acuity, power found",
        ]) {
            let log_mar =
                cell(way).and_then(|text| text.split_once("(logMAR ")).map(|(_, rest)| rest.trim_end_matches(')'));
            *of = log_mar.map_or(Ok(None), figure)?;
        }
        Ok(figures)
    })?;
    let vertex = flat.split_once("For glasses at a vertex distance of ").map(|(_, rest)| rest);
    let vertex = vertex.and_then(|rest| rest.split(' ').next()).map(str::parse).transpose()?;
    Ok(Said { eyes, vertex })
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn of_card(bytes: &[u8]) -> Result<Said, Failure> {
    let text = String::from_utf8(bytes.to_vec())?;
    let rows = text.lines().map(|line| {
        let letters: Vec<char> = line.chars().collect();
        let part = |from: usize, to: usize| {
            let part: String = letters[from.min(letters.len())..to.min(letters.len())].iter().collect();
            part.trim().to_owned()
        };
        if ["RIGHT EYE", "LEFT EYE"].iter().any(|eye| line.starts_with(eye)) {
            std::iter::once(part(0, 21)).chain(line.split_whitespace().skip(2).map(str::to_owned)).collect()
        } else {
            vec![part(0, 21), part(21, 46), part(46, 72)]
        }
    });
    of_words(&rows.collect::<Vec<_>>(), &flat(&text))
}

fn of_markdown(bytes: &[u8]) -> Result<Said, Failure> {
    let text = String::from_utf8(bytes.to_vec())?;
    let rows = text
        .lines()
        .filter(|line| line.starts_with('|'))
        .map(|line| line.trim_matches('|').split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<_>>());
    of_words(&rows.collect::<Vec<_>>(), &flat(&text))
}

fn of_pdf(bytes: &[u8]) -> Result<Said, Failure> {
    let rows = pdf::lines(bytes)?;
    let words = rows.iter().map(|row| row.join(" ")).collect::<Vec<_>>().join(" ");
    of_words(&rows, &flat(&words))
}

/// Of which eye a sequence is, in a refraction and in an acuity.
fn tags(eye: Eye) -> [(u16, u16); 2] {
    match eye {
        Eye::Right => [(0x46, 0x97), (0x46, 0x122)],
        Eye::Left => [(0x46, 0x98), (0x46, 0x123)],
    }
}

fn of_dicom(files: &[Vec<u8>]) -> Result<Said, Failure> {
    let mut said = Said::default();
    for file in files {
        let object = dicom::Object::of_file(file)?;
        let meant = object.text((0x24, 0x113)).ok_or("no laterality")?;
        for eye in Eye::BOTH {
            let [refraction, acuity] = tags(eye);
            let figures = &mut said.eyes[eye];
            let has_eye = object.item(refraction).or(object.item(acuity)).is_some();
            let letter = if eye == Eye::Right { "R" } else { "L" };
            assert_eq!(has_eye, meant == "B" || meant == letter, "{meant} with {eye}: {has_eye}");
            if let Some(lens) = object.item(refraction) {
                figures.sphere = lens.number((0x46, 0x146));
                if let Some(cylinder) = lens.item((0x46, 0x18)) {
                    figures.cylinder = cylinder.number((0x46, 0x147));
                    figures.axis = cylinder.number((0x22, 0x9));
                }
                figures.addition = lens.item((0x46, 0x100)).and_then(|near| near.number((0x46, 0x104)));
                said.vertex = lens.number((0x22, 0xf));
                if let Some(prism) = lens.item((0x46, 0x28)) {
                    for (amount, base) in [((0x46, 0x30), (0x46, 0x32)), ((0x46, 0x34), (0x46, 0x36))] {
                        let base = prism.text(base).ok_or("no base")?.to_lowercase();
                        let amount = prism.number(amount).ok_or("no amount")?;
                        if amount != 0.0 {
                            figures.prism.push((amount, base));
                        }
                    }
                }
            }
            if let Some(read) = object.item(acuity) {
                let code = object.item((0x46, 0x121)).and_then(|code| code.text((0x8, 0x100))).ok_or("no code")?;
                let codes = ["420050001", "419475002", "111686", "419775003"];
                let way = codes.iter().position(|known| *known == code).ok_or("another code")?;
                figures.log_mar[way] = read.number((0x46, 0x137)).map(|decimal| -decimal.log10());
            }
        }
    }
    Ok(said)
}

/// What a form has no place for is left out of the comparison: pupillary distances of each eye in DICOM, a prism without a
/// power there, and the vertex distance where it does not matter.
fn without_place(form: RecordForm, record: &Record, mut said: Said) -> Said {
    match form {
        RecordForm::Dicom => {
            for eye in record.eyes() {
                let of = &mut said.eyes[eye.eye];
                of.pd = None;
                if eye.written.is_none() {
                    of.prism.clear();
                }
            }
        }
        RecordForm::Card | RecordForm::Pdf | RecordForm::Markdown if !record.vertex_matters => said.vertex = None,
        RecordForm::Fhir
        | RecordForm::FhirR4b
        | RecordForm::Csv
        | RecordForm::Json
        | RecordForm::Card
        | RecordForm::Pdf
        | RecordForm::Markdown => {}
    }
    let any_power = record.eyes().into_iter().any(|eye| eye.written.is_some());
    if !any_power {
        said.vertex = None;
    }
    said
}

/// Whether two figures are one, each perhaps rounded to two places.
fn agree(left: Option<f64>, right: Option<f64>) -> bool {
    match (left, right) {
        (Some(left), Some(right)) => (left - right).abs() < 0.005_001,
        (left, right) => left == right,
    }
}

fn all_agree(left: &Said, right: &Said) -> bool {
    let of_eyes = Eye::BOTH.into_iter().all(|eye| {
        let (left, right) = (&left.eyes[eye], &right.eyes[eye]);
        let pairs = [
            (left.sphere, right.sphere),
            (left.cylinder, right.cylinder),
            (left.axis, right.axis),
            (left.addition, right.addition),
            (left.pd, right.pd),
        ];
        let prism = left.prism.len() == right.prism.len()
            && left
                .prism
                .iter()
                .zip(&right.prism)
                .all(|(left, right)| left.1 == right.1 && agree(Some(left.0), Some(right.0)));
        let acuities = left.log_mar.into_iter().zip(right.log_mar);
        prism && pairs.into_iter().chain(acuities).all(|(left, right)| agree(left, right))
    });
    of_eyes && agree(left.vertex, right.vertex)
}

/// What a form says, read back; `None` where it refuses a record for which it has no place at all.
fn said(form: RecordForm, record: &Record) -> Result<Option<Said>, Failure> {
    let files = match form.files(record) {
        Ok(files) => files,
        Err(ExportError::NothingForDicom { .. }) => return Ok(None),
        Err(error) => return Err(error.into()),
    };
    let bytes = &files.first;
    Ok(Some(match form {
        RecordForm::Card => of_card(bytes)?,
        RecordForm::Pdf => of_pdf(bytes)?,
        RecordForm::Markdown => of_markdown(bytes)?,
        RecordForm::Fhir | RecordForm::FhirR4b => of_fhir(bytes)?,
        RecordForm::Csv => of_csv(bytes)?,
        RecordForm::Json => of_json(bytes)?,
        RecordForm::Dicom => {
            let files: Vec<Vec<u8>> =
                std::iter::once(files.first).chain(files.beside.into_iter().map(|(_, bytes)| bytes)).collect();
            of_dicom(&files)?
        }
    }))
}

fn drawn_acuity() -> impl Strategy<Value = Acuity> {
    let line = (0.3_f64..60.0, -4_i8..5).prop_map(|(mar, letters)| Acuity::Line { mar, letters });
    let on_chart = (line.clone(), 0.5_f64..8.0, 0.5_f64..8.0)
        .prop_map(|(line, made_for_m, stands_at_m)| line.read_on(ChartPlace { made_for_m, stands_at_m }));
    prop_oneof![4 => line, 2 => on_chart, 2 => proptest::sample::select(Acuity::WITHOUT_LETTERS.to_vec())]
}

fn drawn_power() -> impl Strategy<Value = SpheroCylinder> {
    let usual = (-20.0_f64..20.0, -6.0_f64..0.0, 1.0_f64..=180.0);
    let any = (-40.0_f64..40.0, -12.0_f64..12.0, 1.0_f64..=180.0);
    let quarters = (-40_i32..40, -12_i32..=0, 1_i32..=180)
        .prop_map(|(s, c, a)| (f64::from(s) / 4.0, f64::from(c) / 4.0, f64::from(a)));
    prop_oneof![4 => usual, 1 => any, 3 => quarters].prop_map(|(sphere, cylinder, axis)| SpheroCylinder {
        sphere,
        cylinder,
        axis,
    })
}

fn drawn_prism() -> impl Strategy<Value = Prism> {
    let part = || prop_oneof![-12.0_f64..12.0, -0.02_f64..0.02, Just(0.0)];
    (part(), part()).prop_map(|(x, y)| Prism { x, y })
}

/// What happens to one eye.
fn drawn_eye(eye: Eye) -> impl Strategy<Value = Vec<Event>> {
    let read_through = move |through| {
        proptest::option::of(drawn_acuity()).prop_map(move |read_so| read_so.map(|acuity| read(eye, through, acuity)))
    };
    (
        proptest::option::weighted(0.8, (drawn_power(), proptest::option::of(drawn_acuity()))),
        proptest::option::of(drawn_prism()),
        proptest::option::of(20.0_f64..40.0),
        read_through(Through::Unaided),
        read_through(Through::Pinhole),
        read_through(Through::OldGlasses),
    )
        .prop_map(move |(power, prism, pd, unaided, pinhole, old)| {
            let mut events: Vec<Event> = [unaided, pinhole, old].into_iter().flatten().collect();
            if let Some((power, acuity)) = power {
                events.extend(acuity.map(|acuity| tried(eye, power.power(), acuity)));
                events.push(accepted(eye, power));
            }
            events.extend(prism.map(|prism| Event::Accepted(Accepted::Prism(eye, Some(prism)))));
            events.extend(pd.map(|pd| Event::Detail(Detail::EyePd(eye, Millimetres(pd)))));
            events
        })
}

fn drawn_events() -> impl Strategy<Value = Vec<Event>> {
    let of_both = (
        proptest::option::of((1_i32..16).prop_map(|quarters| f64::from(quarters) / 4.0)),
        proptest::option::of(0.0_f64..20.0),
        proptest::option::of(0.5_f64..8.0),
        proptest::option::of(drawn_acuity()),
        proptest::option::of("\\PC{0,40}"),
        any::<bool>(),
    );
    (drawn_eye(Eye::Right), drawn_eye(Eye::Left), of_both).prop_map(|(right, left, of_both)| {
        let (addition, vertex, chart, both, note, ends) = of_both;
        let mut events: Vec<Event> =
            chart.map(|metres| Event::Detail(Detail::ChartMetres(metres))).into_iter().collect();
        events.extend(vertex.map(|distance| Event::Detail(Detail::PlannedVertex(Millimetres(distance)))));
        events.extend(right.into_iter().chain(left));
        events.extend(addition.map(|addition| Event::Accepted(Accepted::Addition(Some(addition)))));
        events.extend(both.map(|acuity| Event::Acuity(AcuityNote { eye: None, through: Through::Frame, acuity })));
        events.extend(note.filter(|note| !note.trim().is_empty()).map(Event::Note));
        events.extend(ends.then_some(Event::Finished));
        events
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn all_numbers_of_all_forms_of_one_exam_agree(events in drawn_events(), plus in any::<bool>()) {
        let exam = applied(opened(), &events);
        // an exam refuses what the ranges do not permit; that is no exam
        prop_assume!(exam.is_ok());
        let form = if plus { CylinderForm::Plus } else { CylinderForm::Minus };
        let record = record(&exam?, form, None)?;
        let failed = |form: RecordForm, error: Failure| TestCaseError::fail(format!("{form}: {error}"));
        let expected = said(RecordForm::Json, &record).map_err(|error| failed(RecordForm::Json, error))?;
        let expected = expected.ok_or_else(|| TestCaseError::fail("no JSON"))?;
        for form in RecordForm::ALL {
            let Some(said) = said(*form, &record).map_err(|error| failed(*form, error))? else { continue };
            let expected = without_place(*form, &record, expected.clone());
            let said = without_place(*form, &record, said);
            prop_assert!(all_agree(&said, &expected), "{} says\n{:#?}\nnot\n{:#?}", form, said, expected);
        }
    }
}

#[test]
fn the_invented_adult_is_read_back_with_every_figure() -> Result<(), Failure> {
    let record = record(&super::exams::adult()?, CylinderForm::Minus, None)?;
    for form in RecordForm::ALL {
        let said = said(*form, &record)?.ok_or("nothing is written")?;
        let right = &said.eyes[Eye::Right];
        let figures = (right.sphere, right.cylinder, right.axis, right.addition);
        assert_eq!(figures, (Some(-5.5), Some(-0.75), Some(174.0), Some(1.25)), "{form}");
        assert_eq!(right.prism, [(2.0, "in".to_owned()), (1.0, "up".to_owned())], "{form}");
        let left = &said.eyes[Eye::Left];
        assert_eq!((left.sphere, left.cylinder, left.prism.len()), (Some(-2.75), None, 0), "{form}");
        // 6/18 is 0.48, 6/60 is 1.00, 6/24 is 0.60 (Holladay's table)
        assert!(agree(right.log_mar[1], Some(0.48)) && right.log_mar[0].is_none(), "{form}: {right:?}");
        assert!(agree(left.log_mar[0], Some(1.0)) && agree(left.log_mar[2], Some(0.6)), "{form}: {left:?}");
    }
    Ok(())
}
