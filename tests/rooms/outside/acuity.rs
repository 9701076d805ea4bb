//! Acuity.

use approx::assert_relative_eq;
use dioptray::optics::Acuity;

/// MAR = 1/decimal, logMAR = log10 MAR (Holladay's table, *J Refract Surg* 1997;13:388-391).
#[test]
fn holladay_table() -> Result<(), Box<dyn std::error::Error>> {
    let table: [(&[&str], f64); 4] = [
        (&["6/6", "20/20", "1.0", "0.00logMAR"], 0.00),
        (&["6/12", "20/40", "0.5", "0.3logMAR"], 0.30),
        (&["6/18", "20/60"], 0.48),
        (&["6/60", "20/200", "0.1", "1logMAR"], 1.00),
    ];
    for (names, log_mar) in table {
        for name in names {
            let found = name.parse::<Acuity>()?.log_mar().ok_or("no line")?;
            assert_relative_eq!(found, log_mar, epsilon = 0.005);
        }
    }
    Ok(())
}

/// One letter of a five-letter line is 0.02 logMAR (Holladay, as above).
#[test]
fn five_letters_are_a_line() -> Result<(), Box<dyn std::error::Error>> {
    let with_letters = "0.3logMAR-5".parse::<Acuity>()?.log_mar().ok_or("no line")?;
    assert_relative_eq!(with_letters, 0.4, epsilon = 1e-12);
    Ok(())
}
