//! Acuity.

use approx::assert_relative_eq;
use dioptray::optics::{Acuity, AcuityNotation};

type Checked = Result<(), Box<dyn std::error::Error>>;

/// The logMAR of a text, a bare number taken as a decimal.
fn log_mar(text: &str) -> Result<f64, Box<dyn std::error::Error>> {
    Ok(Acuity::read(text, AcuityNotation::Decimal, None)?.log_mar().ok_or("no line")?)
}

/// MAR = 1/decimal, logMAR = log10 MAR (Holladay's table, *J Refract Surg* 1997;13:388-391).
#[test]
fn holladay_table() -> Checked {
    let table: [(&[&str], f64); 4] = [
        (&["6/6", "20/20", "1.0", "0.00logMAR"], 0.00),
        (&["6/12", "20/40", "0.5", "0.3logMAR"], 0.30),
        (&["6/18", "20/60"], 0.48),
        (&["6/60", "20/200", "0.1", "1logMAR"], 1.00),
    ];
    for (names, is) in table {
        for name in names {
            assert_relative_eq!(log_mar(name)?, is, epsilon = 0.005);
        }
    }
    Ok(())
}

/// The limits of low vision: 3/60 = 20/400 = 1.30 logMAR, 1/60 = 1.78, then light perception (WHO's table in *Lancet Glob
/// Health* 2021;9:e489, PMC7966694).
#[test]
fn limits_of_low_vision() -> Checked {
    for (text, is) in
        [("3/60", 1.30), ("20/400", 1.30), ("6/120", 1.30), ("1/60", 1.78), ("6/18", 0.48), ("6/60", 1.00)]
    {
        assert_relative_eq!(log_mar(text)?, is, epsilon = 0.005);
    }
    assert_eq!("PL".parse::<Acuity>()?.log_mar(), None);
    Ok(())
}

/// A score of letters of an ETDRS chart: 85 letters are 20/20, 70 are 20/40 (Gregori, by way of a public note).
#[test]
fn scores_of_letters() -> Checked {
    for (score, line) in [("85 letters", "20/20"), ("70 letters", "20/40"), ("35 letters", "20/200")] {
        assert_relative_eq!(log_mar(score)?, log_mar(line)?, epsilon = 0.002);
        let back = line.parse::<Acuity>()?.letter_score().ok_or("no line")?;
        assert_eq!(format!("{back:.0} letters"), score);
    }
    Ok(())
}

/// Any test distance over any line is its ratio: 4/8 = 5/10 = 6/12 = 0.5 (MAR = line/distance, Holladay as above), 10/200 = 20/400.
#[test]
fn any_test_distance() -> Checked {
    for (one, other) in [("4/8", "6/12"), ("5/10", "0.5"), ("10/200", "20/400"), ("3/60", "6/120"), ("0.5/5", "6/60")] {
        assert_relative_eq!(log_mar(one)?, log_mar(other)?, epsilon = 1e-12);
    }
    Ok(())
}

/// 0.3 of a logMAR chart is logMAR 0.30, and not the decimal 0.3, which is 0.52 (protocol in *Health Technol Assess* 2012;16(6),
/// p. 149, for a chart in logMAR).
#[test]
fn a_log_mar_is_not_a_decimal() -> Checked {
    let of = |notation| Acuity::read("0.3", notation, None).ok().and_then(Acuity::log_mar).ok_or("no line");
    assert_relative_eq!(of(AcuityNotation::LogMar)?, 0.30, epsilon = 1e-12);
    assert_relative_eq!(of(AcuityNotation::Decimal)?, 0.52, epsilon = 0.005);
    Ok(())
}

/// One letter of a five-letter line is 0.02 logMAR (Holladay, as above).
#[test]
fn five_letters_are_a_line() -> Checked {
    assert_relative_eq!(log_mar("0.3logMAR-5")?, 0.4, epsilon = 1e-12);
    Ok(())
}
