//! The events of one end face, a minute apart, from a short word.

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

/// Rows of the end face `p`, a letter each: `c` a cleaning; `p`, `f`, `u` a look that passes,
/// fails, shows nothing; `R`, `P`, `U` the same (fail, pass, nothing) with a disposition that takes
/// the end face out of use; `I` a failing look left in service. Another end face is cleaned and
/// looked at on days of their own, so that both tables have rows.
pub fn minutes(events: &str) -> Fleet {
    let mut looks = "at,end_face,outcome,disposition\n2026-03-01 08:00,x,pass,\n".to_owned();
    let mut wipes = "at,end_face\n2026-02-28 08:00,x\n".to_owned();
    for (minute, event) in (10..).zip(events.chars()) {
        let at = format!("2026-03-02 08:{minute}");
        let said = match event {
            'c' => {
                wipes += &format!("{at},p\n");
                continue;
            }
            'p' => "pass,",
            'f' => "fail,",
            'u' => "unreadable,",
            'R' => "fail,reject",
            'P' => "pass,repolish",
            'U' => "unreadable,replace",
            'I' => "fail,in-service",
            other => panic!("no event is written {other:?}"),
        };
        looks += &format!("{at},p,{said}\n");
    }
    fleet().looks(&looks).cleanings(&wipes)
}

/// [`minutes`], derived.
pub fn worked(events: &str) -> Seen {
    minutes(events).derive()
}
