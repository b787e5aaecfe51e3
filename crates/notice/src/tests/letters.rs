//! What mails say, and what goes together.

use alert::{AlertState, Priority, Suppression};

use super::fixture::{at, notice, plant};
use crate::{Channel, Letter, Mail, MailServer, MailServerSettings, MailTls, Notice, letters};

fn of(notices: &[Notice]) -> Letter {
    Letter::of(notices, &plant(), at("2026-11-02T14:09:05Z"))
}

fn raised() -> Notice {
    notice(Priority::High, AlertState::Unacknowledged)
}

#[test]
fn a_mail_says_line_finding_figures_and_what_to_try_with_its_caution() {
    let letter = of(&[raised()]);
    assert_eq!(letter.subject, "Tunnel oven <1>: overloaded, moisture is carried into the late zones (high)");
    assert_eq!((letter.id.as_str(), letter.thread.as_deref()), ("01KFIXTURE-raised-7", Some("01KFIXTURE")));
    assert!(letter.urgent);
    insta::assert_snapshot!("raised_text", letter.text);
    insta::assert_snapshot!("raised_html", letter.html);
    for part in [&letter.text, &letter.html] {
        assert!(part.contains(alert::advice::CAUTION), "the caution goes with the advice");
    }
}

#[test]
fn a_picture_says_by_sign_and_word_what_it_says_by_colour() {
    let html = of(&[raised()]).html;
    for words in ["as expected", "\u{25b2} 3.4 above", "\u{25b2} 1.3 above", "\u{25bc} 0.6 below"] {
        assert!(html.contains(words), "{words}");
    }
    assert!(!html.contains("<img") && !html.contains("http"), "a mail asks for nothing from elsewhere");
}

#[test]
fn names_and_comments_are_text_and_no_markup() {
    let mut answered = notice(Priority::High, AlertState::Acknowledged);
    answered.alert.acknowledge("Ann", at("2026-11-02T14:12:00Z")).unwrap_err();
    answered.alert.answer.acknowledged_by = Some("Ann <b>".into());
    answered.alert.comment("Ann", at("2026-11-02T14:12:00Z"), "damper & <script>");
    let letter = of(&[answered]);
    assert!(letter.subject.starts_with("Tunnel oven <1>: acknowledged by Ann <b>: overloaded"), "{}", letter.subject);
    assert!(letter.text.contains("Ann says: damper & <script>"), "{}", letter.text);
    for written in ["Tunnel oven &lt;1&gt;", "damper &amp; &lt;script&gt;"] {
        assert!(letter.html.contains(written), "{written}");
    }
}

#[test]
fn the_stage_of_an_alert_is_told_in_a_sentence() {
    let sentence = |notice: Notice| {
        let text = of(&[notice]).text;
        text.lines().find(|line| line.starts_with("It ") || line.starts_with("Nobody")).unwrap().to_owned()
    };
    let mut shelved = notice(Priority::Medium, AlertState::Shelved);
    let (since, until) = (at("2026-11-02T14:12:00Z"), Some(at("2026-11-02T15:00:00Z")));
    shelved.alert.answer.suppression = Some(Suppression { since, until, reason: "trial run".into(), by: "Ann".into() });
    let mut acknowledged = notice(Priority::High, AlertState::Acknowledged);
    acknowledged.alert.answer.acknowledged_by = Some("Ann".into());
    acknowledged.alert.answer.acknowledged_at = Some(since);
    for (notice, words) in [
        (raised(), "Nobody has answered it yet."),
        (shelved, "It stands, shelved by Ann until 15:00: trial run."),
        (acknowledged, "It stands, acknowledged by Ann at 14:12."),
        (notice(Priority::High, AlertState::ReturnedUnacknowledged), "It is over since 14:40; nobody has answered it."),
    ] {
        assert_eq!(sentence(notice), words);
    }
}

#[test]
fn what_is_told_late_says_so() {
    let late = Letter::of(&[raised()], &plant(), at("2026-11-04T09:00:00Z"));
    for part in [&late.text, &late.html] {
        assert!(part.contains("Told late: it could not be delivered since 2026-11-02 14:09."));
    }
    assert!(!of(&[raised()]).text.contains("late:"));
}

#[test]
fn an_urgent_alert_has_a_mail_of_its_own_and_the_rest_shares_one() {
    let medium = notice(Priority::Medium, AlertState::Unacknowledged);
    let over = notice(Priority::High, AlertState::ReturnedUnacknowledged);
    let together = letters(&mail(), vec![medium.clone(), raised(), over.clone()]);
    assert_eq!(together, [vec![raised()], vec![medium.clone(), over.clone()]]);
    let letter = of(&together[1]);
    assert_eq!((letter.subject.as_str(), letter.thread.as_deref()), ("Millbrook Bakery: 2 alerts", None));
    assert!(letter.text.contains("(medium)\n  Band up") && letter.text.contains(alert::advice::CAUTION));
    insta::assert_snapshot!("several_text", letter.text);
    assert_eq!(letters(&mail(), Vec::new()), Vec::<Vec<Notice>>::new());
}

fn server(tls: MailTls, user: Option<(String, String)>, from: &str) -> Result<MailServer, crate::SetupError> {
    let settings = MailServerSettings {
        host: "mail.plant".into(),
        port: tls.usual_port(),
        tls,
        user,
        ca_file: None,
        from: from.into(),
    };
    MailServer::new(settings)
}

fn mail() -> Channel {
    Channel::Mail(
        Mail::new(server(MailTls::None, None, "ovens@millbrook.example").unwrap(), "ann@millbrook.example").unwrap(),
    )
}

#[test]
fn a_mail_server_that_cannot_be_used_is_refused_with_the_setting() {
    let user = Some(("ovens".into(), "secret".into()));
    let settings = [
        server(MailTls::None, user, "ovens@millbrook.example").unwrap_err().setting,
        server(MailTls::None, None, "ovens").unwrap_err().setting,
        Mail::new(server(MailTls::StartTls, None, "ovens@millbrook.example").unwrap(), "ann at home")
            .unwrap_err()
            .setting,
    ];
    assert_eq!(settings, ["tls", "from", "to"]);
}
