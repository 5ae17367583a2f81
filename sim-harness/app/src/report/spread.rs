//! The spread of the campaigns as one table: no plot, no file per drive.

use std::fmt::Write;

use couplet_sim::campaign::{RANGES, SEED, Spread};
use couplet_sim::scenario::layout_name;

use super::escaped;
use crate::output::number::optional;

/// The section, empty without campaigns.
pub fn section(spreads: &[Spread]) -> String {
    let Some(count) = spreads.first().map(|spread| spread.samples.len()) else {
        return String::new();
    };
    let mut text = format!(
        "<section id=\"spread\">\n<h2>Spread over plant parameters</h2>\n<p>{count} cars per row, seed {SEED}, each number \
         drawn evenly between its ends. Percentile: the value of the car at the nearest rank; a drive without a value \
         ranks as the worst. Single drives are not kept.</p>\n<table>\n<thead><tr><th scope=\"col\">varies</th><th \
         scope=\"col\">from</th><th scope=\"col\">to</th><th scope=\"col\">unit</th></tr></thead>\n<tbody>\n"
    );
    for range in RANGES {
        let _ = writeln!(
            text,
            "<tr><th scope=\"row\">{}</th><td class=\"number\">{}</td><td class=\"number\">{}</td><td>{}</td></tr>",
            range.name, range.low, range.high, range.unit
        );
    }
    text += "</tbody>\n</table>\n<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Spread\">\n\
             <table>\n<thead><tr>";
    for heading in [
        "drive", "axle", "setting", "metric", "unit", "5 %", "50 %", "95 %", "worst", "no value",
    ] {
        let _ = write!(text, "<th scope=\"col\">{heading}</th>");
    }
    text += "</tr></thead>\n<tbody>\n";
    for spread in spreads {
        let campaign = &spread.campaign;
        for judged in campaign.judged {
            let _ = write!(
                text,
                "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td>",
                escaped(&campaign.scenario.name),
                layout_name(campaign.scenario.layout),
                campaign.setting,
                judged.name,
                escaped(judged.unit),
            );
            for percent in [5.0, 50.0, 95.0, 100.0] {
                let value = optional(spread.percentile(judged.name, percent));
                let _ = write!(text, "<td class=\"number\">{value}</td>");
            }
            let missing = spread.missing(judged.name);
            let _ = writeln!(text, "<td class=\"number\">{missing}</td></tr>");
        }
    }
    text + "</tbody>\n</table>\n</div>\n</section>\n"
}
