//! What holds for a lens of every kind: the logbook's pinned lenses are asked, so that a new kind is among them.
#![expect(clippy::unwrap_used, reason = "a test may stop")]

use dioptray::kit::file::{LineKind, kind_words};
use dioptray::kit::schema::BoxFile;
use dioptray::kit::{Accessory, Lens, PoweredKind, parse_box};
use dioptray::optics::notation::{LensToken, parse_lens};

use crate::kept::lenses;

/// The line of a box file that declares one such lens.
fn declared(lens: &Lens) -> String {
    match lens {
        Lens::Sphere(mark) => format!("{{kind: sphere, powers: [\"{mark}\"], each: 1}}"),
        Lens::Cylinder(mark) => format!("{{kind: cylinder, powers: [\"{mark}\"], each: 1}}"),
        Lens::Prism(mark) => format!("{{kind: prism, powers: [\"{}\"], each: 1}}", mark.dioptres()),
        Lens::CrossCylinder(mark) => format!("{{kind: cross cylinder, powers: [\"{}\"], each: 1}}", mark.unsigned()),
        Lens::Accessory(accessory) if is_known(accessory) => format!("{{kind: {accessory}, each: 1}}"),
        Lens::Accessory(own) => {
            let (name, covers, turns) = (own.name(), own.covers(), own.turns());
            format!("{{kind: accessory, name: {name}, covers: {covers}, turns: {turns}, each: 1}}")
        }
    }
}

fn is_known(accessory: &Accessory) -> bool {
    Accessory::KNOWN.contains(accessory)
}

#[test]
fn a_box_file_declares_a_lens_of_every_kind() {
    let lines: Vec<String> = lenses().iter().map(|lens| format!("  - {}\n", declared(lens))).collect();
    let text = format!("box: One of each\nlenses:\n{}", lines.concat());
    let read = parse_box("one.yaml", &text).unwrap();
    assert_eq!(read.lines.into_iter().map(|line| line.lens).collect::<Vec<_>>(), lenses());
    // the schema by which editors check a box file allows it too
    let file: BoxFile = serde_yaml::from_str(&text).unwrap();
    for line in file.lenses {
        assert!(kind_words().contains(&line.kind.as_str()), "{}", line.kind);
    }
}

#[test]
fn every_kind_of_line_is_shown_as_it_is_read() {
    let lines = || LineKind::all().map(|kind| (kind, kind.example()));
    for (kind, line) in lines() {
        assert!(kind.words().iter().any(|word| line.contains(&format!("kind: {word},"))), "{line}");
    }
    let text: Vec<String> = lines().map(|(_, line)| format!("  - {line}\n")).collect();
    let read = parse_box("shown.yaml", &format!("box: As shown\nlenses:\n{}", text.concat())).unwrap();
    let is_shown = |lens: &Lens| read.lines.iter().any(|line| line.lens.is_of_the_kind_of(lens));
    assert_eq!(lenses().iter().find(|lens| !is_shown(lens)), None, "no line shows how such a lens is declared");
}

#[test]
fn no_accessory_of_a_box_s_own_has_the_label_of_another_kind() {
    for lens in lenses() {
        let label = lens.to_string();
        match lens {
            Lens::Sphere(_) | Lens::Cylinder(_) | Lens::Prism(_) | Lens::CrossCylinder(_) => {
                assert!(Lens::accessory(&label).is_err(), "{label}");
            }
            Lens::Accessory(_) => {}
        }
    }
    for kind in PoweredKind::ALL {
        let label = format!("blue {}", kind.word());
        assert!(Lens::accessory(&label).is_err(), "{label}");
    }
}

#[test]
fn a_lens_of_every_kind_is_read_by_its_label() {
    for lens in lenses() {
        assert_eq!(lens.to_string().parse().as_ref(), Ok(&lens));
    }
}

#[test]
fn what_cannot_be_read_as_a_lens_is_answered_with_one_of_every_kind() {
    let said = "?".parse::<Lens>().unwrap_err().to_string();
    let shown: Vec<Lens> = said.split('`').skip(1).step_by(2).filter_map(|label| label.parse().ok()).collect();
    for lens in lenses() {
        assert!(shown.iter().any(|shown| shown.is_of_the_kind_of(&lens)), "a lens like {lens} is not shown in: {said}");
    }
}

#[test]
fn a_name_that_says_all_of_a_lens_is_known_without_a_box() {
    for lens in lenses().into_iter().filter(|lens| lens.name().is_some()) {
        let of_its_box = match &lens {
            Lens::Accessory(accessory) => !is_known(accessory),
            Lens::Sphere(_) | Lens::Cylinder(_) | Lens::Prism(_) | Lens::CrossCylinder(_) => false,
        };
        assert_eq!(Lens::known_by_name().any(|known| known == lens), !of_its_box, "{lens}");
    }
}

#[test]
fn a_name_that_is_known_without_a_box_is_read_where_a_stack_is_written() {
    for lens in Lens::known_by_name() {
        let name = lens.name().unwrap();
        assert_eq!(parse_lens(name), Ok(LensToken::Accessory(name.to_owned())));
    }
}

#[test]
fn a_lens_without_power_stays_in_its_cell_and_is_never_stacked() {
    for lens in lenses() {
        assert_eq!(lens.stays_in_its_cell(), !lens.makes_power(), "{lens}");
        assert!(lens.makes_power() || !lens.is_stacked(), "{lens}");
    }
}
