mod clustered_trials;
mod competing;
mod discrete_logistic;
mod geometric;
mod stopping_rule;
