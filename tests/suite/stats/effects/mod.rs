mod arrangements;
mod interrupted;
mod panel;
mod ratio_panel;
