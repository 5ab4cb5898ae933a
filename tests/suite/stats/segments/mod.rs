mod limits;
mod reference;
