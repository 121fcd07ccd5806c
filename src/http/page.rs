//! Keyset paging with signed, opaque cursors.

use super::extract::Params;
use super::problem::Problem;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, KeyInit as _, Mac as _};
use sha2::Sha256;
use subtle::ConstantTimeEq as _;

/// Size of a page when the request names none.
pub const USUAL: i64 = 50;
/// Largest page.
pub const MOST: i64 = 200;

/// `limit` and `cursor` of a list that takes no other parameter.
///
/// # Errors
/// Every fault of the query.
pub fn limit_and_cursor(params: &Params, secret: &str, list: &str) -> Result<(i64, Option<Cursor>), Problem> {
    params.all(&["limit", "cursor"], (limit(params), Cursor::read(params, secret, list)))
}

/// `limit` of a list.
///
/// # Errors
/// When it is no whole number from 1 to 200.
pub fn limit(params: &Params) -> Result<i64, Problem> {
    limit_within(params, USUAL, MOST)
}

/// `limit` of a list with other limits of its own.
///
/// # Errors
/// When it is no whole number from 1 to `most`.
pub fn limit_within(params: &Params, usual: i64, most: i64) -> Result<i64, Problem> {
    match params.get("limit") {
        None => Ok(usual),
        Some(text) => text.parse().ok().filter(|n| (1..=most).contains(n)).ok_or_else(|| {
            params.fault("limit", "out_of_range", format!("a whole number from 1 to {most}"), &[])
        }),
    }
}

/// Where a page ended: the last sort key and id, bound to the list it was made for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cursor {
    /// Sort key of the last row.
    pub key: i64,
    /// Id of the last row.
    pub id: String,
}

fn sign(secret: &str, list: &str, key: i64, id: &str) -> Vec<u8> {
    let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(secret.as_bytes()) else { return Vec::new() };
    mac.update(format!("1\n{list}\n{key}\n{id}").as_bytes());
    mac.finalize().into_bytes()[..16].to_vec()
}

impl Cursor {
    /// The cursor as text; `list` names the list with its filter and order.
    pub fn write(&self, secret: &str, list: &str) -> String {
        let mut bytes = sign(secret, list, self.key, &self.id);
        bytes.extend_from_slice(format!("{}.{}", self.key, self.id).as_bytes());
        URL_SAFE_NO_PAD.encode(bytes)
    }

    /// Reads the `cursor` parameter.
    ///
    /// # Errors
    /// When it is no cursor of this list with this filter and order.
    pub fn read(params: &Params, secret: &str, list: &str) -> Result<Option<Cursor>, Problem> {
        let Some(text) = params.get("cursor") else { return Ok(None) };
        let genuine = |signature: &[u8], c: &Cursor| -> bool {
            // Compared in constant time: how long it takes says nothing of where a forged one goes wrong.
            sign(secret, list, c.key, &c.id).ct_eq(signature).into()
        };
        let read = signed(text).filter(|(signature, cursor)| genuine(signature, cursor));
        read.map(|(_, cursor)| Some(cursor)).ok_or_else(|| mismatch(params))
    }

    /// Whether the `cursor` parameter can be one at all, where nobody can say which list it should belong to.
    ///
    /// # Errors
    /// When it cannot.
    pub fn formed(params: &Params) -> Result<(), Problem> {
        match params.get("cursor") {
            Some(text) if signed(text).is_none() => Err(mismatch(params)),
            _ => Ok(()),
        }
    }
}

/// A cursor and what it is signed with.
fn signed(text: &str) -> Option<(Vec<u8>, Cursor)> {
    let bytes = URL_SAFE_NO_PAD.decode(text).ok()?;
    let (signature, rest) = bytes.split_at_checked(16)?;
    let (key, id) = std::str::from_utf8(rest).ok()?.split_once('.')?;
    Some((signature.to_vec(), Cursor { key: key.parse().ok()?, id: id.to_owned() }))
}

fn mismatch(params: &Params) -> Problem {
    let rule = "this cursor does not belong to this list with this filter and order; start again without it";
    params.fault("cursor", "cursor_mismatch", rule, &[])
}

/// Cuts the rows of a list, read one beyond the page, down to it; gives the cursor of the next page when there is one.
pub fn cut<R>(
    rows: &mut Vec<R>,
    limit: i64,
    secret: &str,
    list: &str,
    at: impl FnOnce(&R) -> Cursor,
) -> Option<String> {
    let more = rows.len() as i64 > limit;
    rows.truncate(limit as usize);
    rows.last().filter(|_| more).map(|last| at(last).write(secret, list))
}
