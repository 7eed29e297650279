//! What does a lab's own spreadsheet mean? Column mapping, questions, problems with their place.
