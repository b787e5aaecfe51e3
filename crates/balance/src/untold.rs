//! What history cannot tell about a balance, said aloud.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::record::{BalanceData, Estimate};
use crate::running::Usual;
use crate::unknown::Unknown;

/// Replicates that spread nearly as far as common practice have learned nothing.
const NOTHING_LEARNED: f64 = 0.75;
/// A history whose fastest speed is less than this above its slowest tells nothing of speed.
const ONE_SPEED: f64 = 1.05;

/// One thing that the data do not tell, and what is taken instead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Untold {
    /// No damper signal.
    Dampers,
    /// No steam flow signal.
    SteamFlow,
    /// No signals of the air in the hall.
    Ambient,
    /// Hardly any speed but one.
    OneSpeed {
        /// The slowest, m/min.
        slowest_m_min: f64,
        /// The fastest.
        fastest_m_min: f64,
    },
    /// A value that stands where common practice has it.
    AtPractice {
        /// Which.
        unknown: Unknown,
        /// What is taken.
        value: f64,
    },
}

/// What these estimates, from such signals and speeds, leave open.
pub(crate) fn untold(estimates: &[Estimate], usual: &Usual, data: &BalanceData) -> Vec<Untold> {
    let (slowest_m_min, fastest_m_min) = (data.slowest_m_min, data.fastest_m_min);
    let of_history = [
        (usual.openings.is_none(), Untold::Dampers),
        (usual.steam_kg_h.is_none(), Untold::SteamFlow),
        (usual.ambient.is_none(), Untold::Ambient),
        (fastest_m_min < ONE_SPEED * slowest_m_min, Untold::OneSpeed { slowest_m_min, fastest_m_min }),
    ];
    let mut untold: Vec<Untold> = of_history.into_iter().filter(|(is, _)| *is).map(|(_, what)| what).collect();
    let open = estimates.iter().filter(|estimate| estimate.left_of_practice > NOTHING_LEARNED);
    untold.extend(open.map(|open| Untold::AtPractice { unknown: open.unknown, value: open.value }));
    untold
}

impl fmt::Display for Untold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Dampers => write!(
                f,
                "no exhaust_damper signal in every zone: how much of a zone's answer to speed is its damper cannot be \
                 told from drying, and no opening can be advised, only how much more the exhaust has to draw"
            ),
            Self::SteamFlow => write!(
                f,
                "no steam_flow signal: steam and the exhaust of zones 1 and 2 cannot be told apart; their sizes rest \
                 on common practice for steam"
            ),
            Self::Ambient => write!(
                f,
                "no ambient_temperature and ambient_humidity signals: the weather in the hall is taken as that of any \
                 bakery, and moves the dry late zones by some percent"
            ),
            Self::OneSpeed { slowest_m_min, fastest_m_min } => write!(
                f,
                "history holds hardly any speed but one ({slowest_m_min:.2} to {fastest_m_min:.2} m/min): the drying \
                 curve rests on common practice"
            ),
            Self::AtPractice { unknown, value } => {
                write!(f, "{}: the data hardly narrow it; taken as {value:.3}, near common practice", unknown.name())
            }
        }
    }
}
