mod letters;
mod plan;
mod switching;
