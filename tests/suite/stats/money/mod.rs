mod discounting;
mod purchases;
