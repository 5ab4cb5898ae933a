mod arrangements;
mod compared;
mod interrupted;
mod panel;
mod ratio_panel;
