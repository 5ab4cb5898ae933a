//! Numbers as text, for axes and labels. Thousands are set off by a narrow no-break space, the minus is a real minus,
//! and no number has finer digits than its neighbours (the step of an axis, the width of an interval) support.

/// Narrow no-break space: keeps a number on one line.
const GAP: char = '\u{202F}';
/// Largest number of decimals ever written.
const MOST_DECIMALS: usize = 6;

/// `value` with `decimals` decimals and separated thousands; not a number: "–".
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    if value.abs() >= 1e15 {
        return format!("{value:.1e}").replace('-', "−");
    }
    let plain = format!("{:.*}", decimals.min(MOST_DECIMALS), value.abs());
    let (whole, part) = plain.split_once('.').unwrap_or((&plain, ""));
    let mut text = grouped(whole);
    if !part.is_empty() {
        text.push('.');
        text.push_str(part);
    }
    // "−0.0" would say that the sign is known.
    if value < 0.0 && plain.chars().any(|c| c.is_ascii_digit() && c != '0') {
        text.insert(0, '−');
    }
    text
}

/// A count with separated thousands.
pub fn count(value: u64) -> String {
    grouped(&value.to_string())
}

/// Decimals that it takes to write multiples of `step`, which is 1, 2 or 5 times a power of ten: 0 from 1 on, 1 for 0.5,
/// 2 for 0.05; 0 for what is no step.
pub fn decimals_of(step: f64) -> usize {
    if !step.is_finite() || step <= 0.0 || step >= 1.0 {
        return 0;
    }
    let places = (-step.log10() - 1e-9).ceil();
    (places as usize).min(MOST_DECIMALS)
}

/// A value with the digits that its interval supports: the interval's width is written with at most two digits
/// (Ehrenberg 1977, J. R. Stat. Soc. A 140, 277-297, asks for two effective digits) [rule adapted by us].
pub fn supported(value: f64, low: f64, high: f64) -> String {
    let width = (high - low).abs();
    if !width.is_finite() || width <= 0.0 {
        return fixed(value, 2);
    }
    let place = width.log10().floor() - 1.0;
    if place >= 0.0 {
        let unit = 10f64.powf(place);
        return fixed((value / unit).round() * unit, 0);
    }
    fixed(value, (-place) as usize)
}

/// A share in 0..=1 as per cent, with `decimals`: "41 %".
pub fn percent(share: f64, decimals: usize) -> String {
    format!("{}{GAP}%", fixed(share * 100.0, decimals))
}

/// The divisor and the word for amounts as large as `largest`: (1000, "k") from 10 000 on, (1e6, "M") from 10 million
/// on, (1e9, "bn") from 10 thousand million on, else (1, "").
pub fn magnitude(largest: f64) -> (f64, &'static str) {
    let largest = largest.abs();
    if largest >= 1e10 {
        (1e9, "bn")
    } else if largest >= 1e7 {
        (1e6, "M")
    } else if largest >= 1e4 {
        (1e3, "k")
    } else {
        (1.0, "")
    }
}

/// A unit with its magnitude: "k EUR a year".
pub fn unit(magnitude: &str, unit: &str) -> String {
    match (magnitude, unit) {
        ("", unit) => unit.to_owned(),
        (magnitude, "") => magnitude.to_owned(),
        (magnitude, unit) => format!("{magnitude} {unit}"),
    }
}

fn grouped(digits: &str) -> String {
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(GAP);
        }
        text.push(digit);
    }
    text
}
