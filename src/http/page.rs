//! Keyset paging with signed, opaque cursors.

use super::extract::Params;
use super::problem::Problem;
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use hmac::{Hmac, KeyInit as _, Mac as _};
use sha2::Sha256;

/// Size of a page when the request names none.
pub const USUAL: i64 = 50;
/// Largest page.
pub const MOST: i64 = 200;

/// `limit` of a list.
///
/// # Errors
/// When it is no whole number from 1 to 200.
pub fn limit(params: &Params) -> Result<i64, Problem> {
    match params.get("limit") {
        None => Ok(USUAL),
        Some(text) => text.parse().ok().filter(|n| (1..=MOST).contains(n)).ok_or_else(|| {
            Problem::parameter("limit", "out_of_range", format!("a whole number from 1 to {MOST}"), &[])
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
        let read = || {
            let bytes = URL_SAFE_NO_PAD.decode(text).ok()?;
            let (signature, rest) = bytes.split_at_checked(16)?;
            let (key, id) = std::str::from_utf8(rest).ok()?.split_once('.')?;
            let cursor = Cursor { key: key.parse().ok()?, id: id.to_owned() };
            (sign(secret, list, cursor.key, &cursor.id) == signature).then_some(cursor)
        };
        read().map(Some).ok_or_else(|| {
            Problem::parameter(
                "cursor",
                "cursor_mismatch",
                "this cursor does not belong to this list with this filter and order; start again without it",
                &[],
            )
        })
    }
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
