//! The pictures as files of their own.

use rayon::prelude::*;

use super::place::Content;
use crate::charts::png;
use crate::report::error::ReportError;
use crate::report::page::picture::Picture;

/// Every picture as SVG and PNG, drawn side by side.
pub fn files(pictures: Vec<&Picture>) -> Result<Vec<Content>, ReportError> {
    let pairs: Vec<[Content; 2]> = pictures
        .into_par_iter()
        .map(|picture| {
            let name = picture.name;
            let drawn =
                png(&picture.svg).map_err(|source| ReportError::Picture { name, source })?;
            let svg = picture.svg.clone().into_bytes();
            Ok([(format!("charts/{name}.svg"), svg), (format!("charts/{name}.png"), drawn)])
        })
        .collect::<Result<_, ReportError>>()?;
    Ok(pairs.into_iter().flatten().collect())
}
