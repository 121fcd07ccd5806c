//! The nouns of the trade, valid by construction. Pure.
//!
//! | file | subject |
//! |---|---|
//! | [`book`] | the checked price book |
//! | [`layout`] | site notes resolved against a book: what the stages compute from |
//! | [`measures`] | the measured quantities of a layout |
//! | [`lines`] | what an answer says about one thing: a line, a check, a caution |
//! | [`words`] | the closed lists of words, shared by notes, book and answers |
//! | [`codes`] | codes within one list |
//! | [`usual`] | what holds where a price book says nothing |
//! | [`work`] | which measures count the work of a task, and of what kind it is |
//! | [`steel`] | reinforcing bars by number |
//! | [`order_number`] | numbers of purchase orders |
//! | [`demo`] | an invented price book, job and rain |

pub mod book;
pub mod codes;
pub mod demo;
pub mod layout;
pub mod lines;
pub mod measures;
pub mod order_number;
pub mod steel;
pub mod usual;
pub mod words;
pub mod work;
