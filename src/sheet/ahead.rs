//! A mark on paper that is made before it is needed, as the course sheet and the hand-over both
//! print it.
//!
//! Promises: a provisional mark says that it is one, a mark that waits for a call says so, and the
//! weight it is made from stands beside it with its date and age.

use crate::round::MarkAhead;
use crate::sheet::card::words::{bold, plain};
use crate::sheet::table::SIZE;
use crate::sheet::text::{Span, curled};

/// The mark, or why there is none, with what has to be read beside it. `late` is said where it is.
pub(super) fn mark(mark: &MarkAhead, late: bool) -> Vec<Span> {
    let mut spans = match mark.is_mark && mark.provisional {
        true => {
            let mut spans = plain("provisional: ", 8.0);
            spans.extend(plain(&mark.words, SIZE));
            spans
        }
        false => bold(&mark.words, SIZE),
    };
    if late {
        spans.extend(bold(" LATE", SIZE));
    }
    if mark.call_first {
        spans.extend(bold(" after the call", SIZE));
    }
    if let Some(weight) = &mark.weight {
        spans.extend(plain(&curled(&format!(" by {weight}")), 8.0));
    }
    spans
}
