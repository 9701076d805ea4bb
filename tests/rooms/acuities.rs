//! Acuities as examiners type them: bare numbers by their notation, charts that stand elsewhere than their figures say, and
//! the lines that charts print.

use approx::assert_relative_eq;
use dioptray::optics::{Acuity, AcuityNotation, ChartPlace};

type Checked = Result<(), Box<dyn std::error::Error>>;

use AcuityNotation::{Decimal, Letters, LogMar, SixMetres, ThreeMetres, TwentyFeet};

/// What a bare number is in each notation: the fraction's lower figure, the decimal, the logMAR, the score (common practice, no
/// source); the same text is something else in another notation, or asked.
#[test]
fn a_bare_number_is_read_in_the_examiner_s_notation() -> Checked {
    let cases = [
        (SixMetres, "12", "6/12"),
        (SixMetres, "12-2", "6/12-2"),
        (SixMetres, "7,5", "6/7.5"),
        (ThreeMetres, "12", "3/12"),
        (ThreeMetres, "6", "6/12"),
        (TwentyFeet, "40", "20/40"),
        (TwentyFeet, "20 +1", "20/20+1"),
        (Decimal, "0.5", "6/12"),
        (Decimal, ".5", "6/12"),
        (Decimal, "1", "6/6"),
        (Decimal, "0.5-2", "6/12-2"),
        (LogMar, "0.3", "0.3logMAR"),
        (LogMar, "0", "6/6"),
        (LogMar, "-0.1", "-0.1logMAR"),
        (LogMar, "0.3-2", "0.3logMAR-2"),
        (LogMar, "1", "6/60"),
        (Letters, "70", "0.3logMAR"),
        (Letters, "85", "6/6"),
        (Letters, "0", "1.7logMAR"),
    ];
    for (notation, text, means) in cases {
        let read = Acuity::read(text, notation, None)?.log_mar().ok_or("no line")?;
        let meant = means.parse::<Acuity>()?.log_mar().ok_or("no line")?;
        assert_relative_eq!(read, meant, epsilon = 1e-12);
    }
    Ok(())
}

/// What says its notation is the same in every one of them.
#[test]
fn what_says_its_notation_is_read_alike_in_all() -> Checked {
    let texts = [
        "6/12",
        "20/40-2",
        "3/60",
        "1/60",
        "10/200",
        "0.5 decimal",
        "-0.1logMAR",
        "85 letters",
        "CF",
        "none",
        "0.3logMAR+1",
    ];
    for text in texts {
        let read: Acuity = text.parse()?;
        for notation in AcuityNotation::ALL {
            assert_eq!(Acuity::read(text, *notation, None)?, read, "{text} under {}", notation.name());
        }
    }
    Ok(())
}

/// What could be two things is asked with both, each in words that are then read.
#[test]
fn what_could_be_two_things_is_asked() -> Checked {
    for notation in [SixMetres, ThreeMetres, TwentyFeet] {
        for text in ["0.5", "1", "0", "0.1-2"] {
            let refusal = Acuity::read(text, notation, None).err().ok_or(format!("{text} was guessed"))?;
            assert!(refusal.problem().contains("could be"), "{text}: {}", refusal.problem());
        }
    }
    let refusal = Acuity::read("0.5", TwentyFeet, None).err().ok_or("0.5 was guessed")?;
    let asked = "0.5 could be the decimal (20/40) or the logMAR (20/63): write 0.5 decimal or 0.5logMAR";
    assert_eq!(refusal.problem(), asked);
    for text in ["0.5 decimal", "0.5logMAR"] {
        assert!(asked.contains(text) && Acuity::read(text, TwentyFeet, None).is_ok(), "{text}");
    }
    // a sign alone is a logMAR only where logMAR is the notation
    for notation in AcuityNotation::ALL.iter().filter(|notation| **notation != LogMar) {
        let refusal = Acuity::read("-0.1", *notation, None).err().ok_or("-0.1 was guessed")?;
        assert!(refusal.problem().contains("write -0.1logMAR"), "{}", refusal.problem());
    }
    for (notation, text) in
        [(Decimal, "12"), (LogMar, "12"), (Letters, "0.5"), (Letters, "101"), (SixMetres, "1000000")]
    {
        assert!(Acuity::read(text, notation, None).is_err(), "{text} under {}", notation.name());
    }
    assert!("0.5".parse::<Acuity>().is_err() && "12".parse::<Acuity>().is_err(), "no notation, no bare number");
    Ok(())
}

/// The line read counts for the distance at which it was read (protocol in *Health Technol Assess* 2012;16(6), p. 147: any
/// test distance is taken into account in the record): 6/12 of a 6-m chart at 3 m is 3/12 = 6/24.
#[test]
fn a_line_of_a_chart_that_stands_elsewhere_is_converted_and_both_are_kept() -> Checked {
    let chart = ChartPlace { made_for_m: 6.0, stands_at_m: 3.0 };
    let cases = [
        (SixMetres, "6/12", "6/24", Some("6/12")),
        (SixMetres, "12", "6/24", Some("6/12")),
        (SixMetres, "6/12-2", "6/24-2", Some("6/12-2")),
        (TwentyFeet, "20/40", "20/80", Some("20/40")),
        (Decimal, "0.5", "0.25", Some("0.5")),
        (LogMar, "0.3", "0.60logMAR", Some("0.30logMAR")),
        (Letters, "70", "55 letters", Some("70 letters")),
        // over the distance at which the chart stands: the true one, said by the examiner
        (SixMetres, "3/12", "6/24", None),
        (ThreeMetres, "3/12", "3/12", None),
    ];
    for (notation, text, is, on_chart) in cases {
        let read = Acuity::read(text, notation, Some(chart))?;
        let write = |acuity: Acuity| acuity.write(notation, dioptray::optics::notation::Style::Ascii);
        assert_eq!(write(read), is, "{text}");
        assert_eq!(read.on_chart().map(|(line, _)| write(line)).as_deref(), on_chart, "{text}");
        assert!(read.on_chart().is_none_or(|(_, place)| place == chart));
        let kept: Acuity = serde_json::from_str(&serde_json::to_string(&read)?)?;
        assert_eq!(kept, read);
    }
    // farther than it is made for, better; 20 ft are 6.1 m
    let hall = ChartPlace { made_for_m: 3.0, stands_at_m: 6.0 };
    assert_relative_eq!(
        Acuity::read("3/6", SixMetres, Some(hall))?.denominator_6_m().ok_or("no line")?,
        6.0,
        epsilon = 1e-9
    );
    let refusal = Acuity::read("4/8", SixMetres, Some(chart)).err().ok_or("4/8 is of neither distance")?;
    assert!(refusal.problem().contains("made for 6 m and stands at 3 m"), "{}", refusal.problem());
    // as it is made, whatever its figures, nothing is converted; fingers are counted at no line
    let as_made = ChartPlace { made_for_m: 6.0, stands_at_m: 6.0 };
    for text in ["6/12", "20/40", "4/8", "0.3logMAR"] {
        assert_eq!(Acuity::read(text, SixMetres, Some(as_made))?, text.parse()?, "{text}");
    }
    for seen in Acuity::WITHOUT_LETTERS {
        assert_eq!(seen.read_on(chart), seen);
    }
    Ok(())
}

/// What is offered by key is what charts of the notation print: no 20/16.67 among feet (the usual chart in feet, common practice),
/// steps of 0.1 logMAR and of five letters.
#[test]
fn the_lines_offered_are_those_that_charts_print() {
    let written = |notation: AcuityNotation| -> Vec<String> {
        let write = |line: Acuity| line.write(notation, dioptray::optics::notation::Style::Ascii);
        notation.chart_lines().into_iter().map(write).collect()
    };
    assert_eq!(written(SixMetres), ["6/60", "6/36", "6/24", "6/18", "6/12", "6/9", "6/6", "6/5"]);
    assert_eq!(written(ThreeMetres), ["3/30", "3/18", "3/12", "3/9", "3/6", "3/4.5", "3/3", "3/2.5"]);
    let feet = ["20/200", "20/100", "20/70", "20/50", "20/40", "20/30", "20/25", "20/20", "20/15"];
    assert_eq!(written(TwentyFeet), feet);
    assert_eq!(written(Decimal), ["0.1", "0.2", "0.32", "0.4", "0.5", "0.63", "0.8", "1.0", "1.25"]);
    let tenths = ["1.00", "0.70", "0.50", "0.40", "0.30", "0.20", "0.10", "0.00", "-0.10"];
    assert_eq!(written(LogMar), tenths.map(|tenths| format!("{tenths}logMAR")));
    let scores = ["35", "50", "60", "65", "70", "75", "80", "85", "90"];
    assert_eq!(written(Letters), scores.map(|score| format!("{score} letters")));
    for notation in AcuityNotation::ALL {
        let lines: Vec<f64> = notation.chart_lines().into_iter().filter_map(Acuity::log_mar).collect();
        assert!(lines.is_sorted_by(|coarser, finer| coarser > finer), "{}: {lines:?}", notation.name());
        // one key is for no letter
        assert!(lines.len() <= 9, "{}", notation.name());
    }
}

/// What is seen without a letter has no figure, and none is taken for another.
#[test]
fn counting_fingers_and_less_have_no_figure() {
    for seen in Acuity::WITHOUT_LETTERS {
        assert_eq!((seen.log_mar(), seen.denominator_6_m(), seen.letter_score()), (None, None, None));
        let words: Vec<_> = [seen.without_letters(), seen.abbreviated()].into_iter().flatten().collect();
        assert_eq!(words.len(), 2);
        for word in words {
            assert_eq!(word.parse::<Acuity>(), Ok(seen), "{word}");
        }
    }
}
