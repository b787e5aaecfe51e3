//! Certificates that are about to end: told long before the day on which nothing connects any more.

use broker::CertificateEnd;
use reading::{Span, Timestamp};
use web::Certificate;

/// So long before its end a certificate is warned of: time for whoever runs the plant's authority.
const AHEAD: Span = Span::minutes(30 * 24 * 60);

/// What to tell of certificates that end soon, or have ended; `None` if all is well.
pub(crate) fn warning<'a>(
    certificates: impl IntoIterator<Item = &'a CertificateEnd>,
    now: Timestamp,
) -> Option<String> {
    let told = |certificate: &CertificateEnd| {
        let ends = Timestamp(certificate.ends_us);
        let verb = if ends <= now { "ended" } else { "ends" };
        (ends - now <= AHEAD).then(|| format!("{} {verb} on {}", certificate.whose, date(ends)))
    };
    let told: Vec<String> = certificates.into_iter().filter_map(told).collect();
    (!told.is_empty()).then(|| told.join(", "))
}

/// When the certificate of the console ends.
pub(crate) fn of_console(certificate: &Certificate) -> CertificateEnd {
    let (_, ends) = certificate.validity();
    CertificateEnd { whose: "the console's certificate", ends_us: Timestamp::from(ends).0 }
}

/// The day of a moment, in UTC as certificates count.
pub(crate) fn date(time: Timestamp) -> String {
    time.to_utc().map_or_else(|| time.to_string(), |time| time.date_naive().to_string())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn thirty_days_ahead_is_soon_enough_and_the_end_itself_is_another_word() {
        let ends = Timestamp::parse("2026-12-20T00:00:00Z").unwrap();
        let certificate = CertificateEnd { whose: "the broker's certificate", ends_us: ends.0 };
        let at = |days: i64| warning([&certificate], ends - Span::minutes(days * 24 * 60));
        assert_eq!(at(31), None);
        assert_eq!(at(30).as_deref(), Some("the broker's certificate ends on 2026-12-20"));
        assert_eq!(at(0).as_deref(), Some("the broker's certificate ended on 2026-12-20"));
    }
}
