mod binomial;
mod cluster_scatter;
mod dispersed_tail;
mod hypergeometric;
mod multiple;
mod others;
