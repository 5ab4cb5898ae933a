//! Shares: so many of so many, alone, in clusters, compared, charted over time, ranked; and how far ratings agree.

pub mod agreement;
pub mod beta_binomial;
pub mod clustered;
pub mod expected_rank;
pub mod funnel;
pub mod lasting_shares;
pub mod p_prime;
pub mod proportion;
pub mod ranked;
pub mod run_rules;
pub mod share_change;
pub mod within;
