//! Earlier exams on the screen, from a logbook, through the program itself.

use std::fs;
use std::path::Path;
use std::process::Command;

use dioptray::export::RecordForm;
use dioptray::logbook::{ExamNumber, Logbook, NamedBox};
use tempfile::TempDir;

use crate::pictures::Album;

type Failure = Box<dyn std::error::Error>;

/// A program in a folder of its own, with a logbook.
pub struct Desk {
    pub folder: TempDir,
}

impl Desk {
    /// With two exams: the first closed, the second open.
    pub fn with_two_exams() -> Result<Self, Failure> {
        let desk = Self { folder: tempfile::tempdir()? };
        desk.walk("-4<enter>-0.75x30<enter>a<tab>-2.50<enter>ai<enter>K.M.<enter><esc>Cy", "80x24")?;
        desk.walk("-1<enter>aNZ.<enter>n+2<enter>ai<enter>B.<enter>", "80x24")?;
        Ok(desk)
    }

    pub fn command(&self, size: &str, keys: &str) -> Command {
        let kits = Path::new(env!("CARGO_MANIFEST_DIR")).join("kits");
        let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
        command.arg("--box").arg(kits.join("boxes/outreach.yaml")).arg("--logbook").arg("logbook.db");
        command.args(["--print", "--size", size, "--keys", keys]).current_dir(self.folder.path());
        command.env("XDG_CONFIG_HOME", self.folder.path().join("config")).env("TZ", "UTC");
        command
    }

    pub fn walk(&self, keys: &str, size: &str) -> Result<String, Failure> {
        printed(&mut self.command(size, keys))
    }

    /// Compares both sizes with their pictures, times made alike. Each is drawn on two days: one with a day left in it would
    /// hold only on the day on which it was kept.
    pub fn pictures(&self, album: &Album, name: &str, keys: &str) -> Result<(), Failure> {
        let mut settings = insta::Settings::clone_current();
        settings.add_filter(r"\d{4}-\d\d-\d\d \d\d:\d\d", "2026-03-14 09:30");
        settings.add_filter(r"\d+ [A-Z][a-z]+ \d{4}, \d\d:\d\d( to [^\n]*\d\d:\d\d)?", "14 March 2026, 09:30");
        // the day alone, where a name takes the room of the time
        settings.add_filter(r"\d{4}-\d\d-\d\d", "2026-03-14");
        // as much of a time as a panel leaves of it
        settings.add_filter(r"\d+ [A-Z][a-z]+[ \d,]*(:\d?)?([┌│])", "14 March$2");
        for size in ["120x36", "80x24"] {
            for zone in ["UTC", "<later>-24"] {
                let frame = printed(self.command(size, keys).env("TZ", zone))?;
                settings.bind(|| album.screen(&format!("{name}-{size}"), keys, &frame));
            }
        }
        Ok(())
    }
}

fn printed(command: &mut Command) -> Result<String, Failure> {
    let output = command.output()?;
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    Ok(String::from_utf8(output.stdout)?)
}

#[test]
fn earlier_exams_are_listed_and_read() -> Result<(), Failure> {
    let album = Album::of("records");
    let desk = Desk::with_two_exams()?;
    desk.pictures(&album, "records-1-list", "e<down>")?;
    desk.pictures(&album, "records-2-read", "e<down><down><enter>")?;
    desk.pictures(&album, "records-3-end", "e<down><down><enter><pagedown><pagedown><pagedown>")?;
    desk.pictures(&album, "records-4-help", "e<down><down><enter>?")?;
    // back at the end is one line up, however often the end was asked for
    let up = desk.walk("e<down><down><enter><pagedown><pagedown><pagedown><pagedown><up>", "80x24")?;
    assert!(up.contains("down more below"), "{up}");
    Ok(())
}

#[test]
fn a_closed_exam_is_amended_and_both_are_kept() -> Result<(), Failure> {
    let album = Album::of("records");
    let desk = Desk::with_two_exams()?;
    let before = desk.walk("e<down><down><enter>", "120x60")?;
    desk.pictures(&album, "records-5-amending", "e<down><down><enter>aThe axis was read at 35")?;
    let after = desk.walk("e<down><down><enter>aThe axis was read at 35.<enter>", "120x60")?;
    assert!(after.contains("added to exam 1"), "{after}");
    assert!(after.contains("Added after closing") && after.contains("· The axis was read at 35."), "{after}");
    let prescription = |frame: &str| frame.lines().find(|line| line.contains("RIGHT EYE")).map(str::to_owned);
    assert!(prescription(&before).is_some_and(|line| line.contains(" 030")));
    assert_eq!(prescription(&before), prescription(&after));
    let refused = desk.walk("e<enter>a", "120x36")?;
    assert!(refused.contains("! exam 3 is not closed: only a closed exam is amended"), "{refused}");
    Ok(())
}

/// The powers of the first exam are −4.00/−0.75×30 and −2.50.
#[test]
fn glasses_that_came_back_are_entered_one_thing_after_the_other() -> Result<(), Failure> {
    let album = Album::of("records");
    let desk = Desk::with_two_exams()?;
    let begun = "e<down><down><enter>b";
    desk.pictures(&album, "records-6-came-back-begun", begun)?;
    let refused = desk.walk(&format!("{begun}-4/-0.75<enter>"), "80x24")?;
    assert!(refused.contains("! ") && refused.contains("right lens, or nothing: -4/-0.75"), "{refused}");
    let through =
        format!("{begun}-4/-0.75x150<enter>-2.50<enter><enter><enter><enter>-2 0<enter>14<enter>swims<enter><enter>");
    desk.pictures(&album, "records-7-came-back-through", &through)?;
    // put aside and gone on with: what was entered stays
    let aside = desk.walk(&format!("{through}<esc>b"), "80x24")?;
    assert!(aside.contains("-4/-0.75x150") && aside.contains("swims"), "{aside}");
    let nothing =
        desk.walk(&format!("{begun}<enter><enter><enter><enter><enter><enter><enter><enter><enter><enter>"), "120x36")?;
    assert!(nothing.contains("! nothing was measured") && nothing.contains("not measured"), "{nothing}");
    for size in ["120x36", "80x24"] {
        let fresh = Desk::with_two_exams()?;
        let noted = fresh.walk(&format!("{through}<enter>"), size)?;
        assert!(noted.contains("added to exam 1: the likeliest cause first"), "{noted}");
        assert!(noted.contains("· Likeliest: The lens before the right eye is as ordered with its axis"), "{noted}");
        let again = fresh.walk("e<down><down><enter>u", "120x80")?;
        assert!(again.contains("taken back in exam 1") && again.contains("Taken back 2"), "{again}");
        let none = fresh.walk("e<down><down><enter>u", "120x36")?;
        assert!(none.contains("! no glasses that came back stand in exam 1"), "{none}");
    }
    let open = desk.walk("e<enter>b", "120x36")?;
    assert!(open.contains("! exam 3 is not closed"), "{open}");
    Ok(())
}

#[test]
fn the_glasses_of_the_exam_on_the_screen_come_back_too() -> Result<(), Failure> {
    let desk = Desk::with_two_exams()?;
    // the open exam has a power that was not accepted: accept it, close it
    let keys = "aCye<enter>b+2.50<enter><enter><enter><enter><enter><enter><enter><enter><enter><enter>";
    let frame = desk.walk(keys, "120x36")?;
    assert!(frame.contains("added to exam 3") && frame.contains("sphere +2.50 found, +2.00 ordered"), "{frame}");
    Ok(())
}

#[test]
fn the_exam_on_the_screen_is_closed_and_amended_too() -> Result<(), Failure> {
    let desk = Desk::with_two_exams()?;
    let frame = desk.walk("Cye<enter>aSeen again.<enter>", "120x60")?;
    assert!(frame.contains("Exam 3 · B. · closed") && frame.contains("· Seen again."), "{frame}");
    let next = desk.walk("e", "120x36")?;
    assert!(
        next.lines().next().is_some_and(|top| top.ends_with("Exam 2")),
        "the exam that was left open goes on: {next}"
    );
    Ok(())
}

#[test]
fn records_are_exported_beside_each_other() -> Result<(), Failure> {
    let desk = Desk::with_two_exams()?;
    let folder = fs::canonicalize(desk.folder.path())?;
    let forms = [
        ("c", "exam-1-card.txt", "RECORD OF A REFRACTION"),
        ("p", "exam-1.pdf", "%PDF"),
        ("m", "exam-1.md", "# Record of a refraction, exam 1"),
        ("f", "exam-1-fhir-r5.json", "5.0.0"),
        ("F", "exam-1-fhir-r4b.json", "4.3.0"),
        ("D", "exam-1.dcm", "1.2.840.10008.5.1.4.1.1.78.4"),
        ("v", "exam-1.csv", "exam,opened"),
        ("j", "exam-1.json", "dioptray exam record"),
        ("c", "exam-1-card-2.txt", "RECORD OF A REFRACTION"),
    ];
    for (key, name, holds) in forms {
        let frame = desk.walk(&format!("e<down><down><enter>{key}"), "300x36")?;
        let path = folder.join(name);
        assert!(frame.contains(&format!("written: {}", path.display())), "{name}: {frame}");
        assert!(String::from_utf8_lossy(&fs::read(&path)?).contains(holds), "{name}");
    }
    for form in RecordForm::ALL {
        let path = folder.join(format!("exam-1{}", form.ending()));
        assert!(path.exists(), "no key here writes {}", form.about());
    }
    Ok(())
}

#[test]
fn a_new_exam_begins_with_the_box_as_it_is_now() -> Result<(), Failure> {
    let desk = Desk::with_two_exams()?;
    let kits = Path::new(env!("CARGO_MANIFEST_DIR")).join("kits/boxes/outreach.yaml");
    let mut change = Command::new(env!("CARGO_BIN_EXE_dioptray"));
    change.args(["--logbook", "logbook.db", "box", "change", "lost", "+4.00 sphere", "--box"]).arg(kits);
    assert!(change.current_dir(desk.folder.path()).output()?.status.success());
    let lost = "+4.00 –•";
    // nobody can put in what is not there, also where the exam was open before
    assert!(desk.walk("d<right>", "120x36")?.contains(lost));
    let new = desk.walk("N<enter>yd<right>", "120x36")?;
    assert!(new.contains("Exam 4") && new.contains(lost), "{new}");
    Ok(())
}

#[test]
fn an_exam_that_another_program_has_open_can_only_be_read() -> Result<(), Failure> {
    let desk = Desk::with_two_exams()?;
    let at = jiff::Timestamp::UNIX_EPOCH;
    let mut logbook = Logbook::open(&desk.folder.path().join("logbook.db"))?;
    let claim = logbook.claim_box(&NamedBox::new(None, "Hillside outreach"), at)?;
    logbook.note_exam(&claim, ExamNumber(1))?;
    let other_box = ["--box", concat!(env!("CARGO_MANIFEST_DIR"), "/kits/boxes/full.yaml"), "--logbook", "logbook.db"];
    let read = |keys: &str| -> Result<String, Failure> {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dioptray"));
        command.args(other_box).args(["--print", "--size", "160x36", "--keys", keys]);
        command.current_dir(desk.folder.path()).env("XDG_CONFIG_HOME", desk.folder.path());
        Ok(String::from_utf8(command.output()?.stdout)?)
    };
    let holder = format!("another Dioptray (process {}", std::process::id());
    let frame = read("e<pagedown><enter>")?;
    assert!(frame.contains("exam 1, can only be read: open elsewhere, in ") && frame.contains(&holder), "{frame}");
    assert!(!frame.contains("a amend") && frame.contains("c card"), "{frame}");
    let frame = read("e<pagedown><enter>a")?;
    assert!(frame.contains("! exam 1 can only be read: it is open elsewhere"), "{frame}");
    drop(claim);
    assert!(read("e<pagedown><enter>")?.contains("exam 1, closed: it can be amended"));
    Ok(())
}
