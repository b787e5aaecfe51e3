//! When a certificate ends: the one thing that is read out of it here. Whether it is genuine is the TLS library's work.

use rustls::pki_types::CertificateDer;

/// Tags of DER (X.690) that stand before the validity of a certificate (RFC 5280, 4.1).
const SEQUENCE: u8 = 0x30;
const VERSION: u8 = 0xa0;
const UTC_TIME: u8 = 0x17;
const GENERALIZED_TIME: u8 = 0x18;

/// When a certificate ends, in microseconds since 1970-01-01T00:00:00Z; `None` if it is not one.
pub(crate) fn ends_us(certificate: &CertificateDer) -> Option<i64> {
    let mut certificate = Der(certificate.as_ref());
    let mut to_be_signed = Der(Der(certificate.take(SEQUENCE)?).take(SEQUENCE)?);
    if to_be_signed.next_tag() == Some(VERSION) {
        to_be_signed.take(VERSION)?;
    }
    // Serial number, algorithm, issuer.
    for _ in 0..3 {
        to_be_signed.take(to_be_signed.next_tag()?)?;
    }
    let mut validity = Der(to_be_signed.take(SEQUENCE)?);
    validity.take(validity.next_tag()?)?;
    let tag = validity.next_tag()?;
    time_us(tag, std::str::from_utf8(validity.take(tag)?).ok()?)
}

/// What is left of a row of DER elements.
struct Der<'a>(&'a [u8]);

impl<'a> Der<'a> {
    fn next_tag(&self) -> Option<u8> {
        self.0.first().copied()
    }

    /// The content of the next element, if it has this tag.
    fn take(&mut self, tag: u8) -> Option<&'a [u8]> {
        let (&found, rest) = self.0.split_first()?;
        let (&first, rest) = rest.split_first()?;
        // A length below 128 stands for itself; above, the byte says how many bytes the length has.
        let (length, rest) = match first {
            0..0x80 => (usize::from(first), rest),
            _ => {
                let (bytes, rest) = rest.split_at_checked(usize::from(first & 0x7f))?;
                let length = bytes
                    .iter()
                    .try_fold(0_usize, |length, byte| length.checked_mul(256)?.checked_add(usize::from(*byte)));
                (length?, rest)
            }
        };
        let (content, rest) = rest.split_at_checked(length)?;
        self.0 = rest;
        (found == tag).then_some(content)
    }
}

/// `YYMMDDHHMMSSZ` or `YYYYMMDDHHMMSSZ` (RFC 5280, 4.1.2.5: in UTC, with seconds, two digits mean 1950 to 2049).
fn time_us(tag: u8, text: &str) -> Option<i64> {
    let (year, rest) = match tag {
        UTC_TIME => {
            let (year, rest) = text.split_at_checked(2)?;
            let year: i64 = year.parse().ok()?;
            (if year < 50 { 2000 + year } else { 1900 + year }, rest)
        }
        GENERALIZED_TIME => {
            let (year, rest) = text.split_at_checked(4)?;
            (year.parse().ok()?, rest)
        }
        _ => return None,
    };
    let digits =
        rest.strip_suffix('Z').filter(|digits| digits.len() == 10 && digits.bytes().all(|it| it.is_ascii_digit()))?;
    let two = |at: usize| digits[at..at + 2].parse::<i64>().ok();
    let (month, day, hour, minute, second) = (two(0)?, two(2)?, two(4)?, two(6)?, two(8)?);
    let seconds = ((days_before(year, month, day) * 24 + hour) * 60 + minute) * 60 + second;
    Some(seconds * 1_000_000)
}

/// Days from 1970-01-01 to a date of the Gregorian calendar. Years are counted from March on, so that the leap day is
/// the last of a year and the lengths of the months follow one rule.
fn days_before(year: i64, month: i64, day: i64) -> i64 {
    let (year, month) = if month < 3 { (year - 1, month + 9) } else { (year, month - 3) };
    let leap_days = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    year * 365 + leap_days + (153 * month + 2) / 5 + day - 1 - 719_468
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn both_forms_of_a_time_are_read() {
        // Against `date -u -d 2026-12-20T12:30:45Z +%s` and the same for the others.
        assert_eq!(time_us(UTC_TIME, "261220123045Z"), Some(1_797_769_845_000_000));
        assert_eq!(time_us(UTC_TIME, "700101000000Z"), Some(0));
        assert_eq!(time_us(GENERALIZED_TIME, "20500229000000Z"), time_us(GENERALIZED_TIME, "20500301000000Z"));
        assert_eq!(time_us(GENERALIZED_TIME, "20520229000000Z"), Some(2_592_777_600_000_000));
        for wrong in ["", "2612201230Z", "261220123045", "26122012304xZ", "2é1220123045Z"] {
            assert_eq!(time_us(UTC_TIME, wrong), None, "{wrong}");
        }
    }

    #[test]
    fn the_end_is_found_behind_all_that_stands_before_it() {
        let params = rcgen::CertificateParams::new(vec!["broker.plant".to_owned()]).unwrap();
        let ends = |year| {
            let mut params = params.clone();
            params.not_after = rcgen::date_time_ymd(year, 2, 3);
            let key = rcgen::KeyPair::generate().unwrap();
            ends_us(params.self_signed(&key).unwrap().der())
        };
        assert_eq!(ends(2031), Some(1_927_843_200_000_000));
        assert_eq!(ends(2061), Some(2_874_614_400_000_000), "beyond 2049 in the longer form");
    }

    #[test]
    fn bytes_that_are_no_certificate_have_no_end() {
        let key = rcgen::KeyPair::generate().unwrap();
        let whole = rcgen::CertificateParams::new(vec![]).unwrap().self_signed(&key).unwrap().der().to_vec();
        for length in 0..whole.len() {
            let cut = CertificateDer::from(whole[..length].to_vec());
            assert!(ends_us(&cut).is_none(), "the outermost length is wrong after {length} bytes");
        }
        let mut longest = vec![SEQUENCE, 0xff];
        longest.extend([0xff; 200]);
        assert_eq!(ends_us(&CertificateDer::from(longest)), None);
    }
}
