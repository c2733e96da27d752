//! How much memory the system leaves to this process, where it sets a limit (`ulimit -v`): a text that would not fit is
//! refused in words, before an allocation that fails ends everything.

use std::{fs, sync::Mutex};

/// Bytes that a check takes at most for each byte of the text.
const FACTOR: u64 = 64;
/// Bytes that it takes whatever the text.
const LEAST: u64 = 4 << 20;
/// Bytes that are left alone: stacks, what is printed, what the allocator keeps for itself.
const SPARE: u64 = 24 << 20;

/// What may still be taken. Nothing is held back where the system sets no limit.
pub struct Room {
    left: Option<Mutex<u64>>,
}

/// Room that is given back when this goes.
pub struct Taken<'r> {
    room: &'r Room,
    bytes: u64,
}

impl Drop for Taken<'_> {
    fn drop(&mut self) {
        if let Some(left) = &self.room.left {
            *left.lock().unwrap_or_else(|poisoned| poisoned.into_inner()) += self.bytes;
        }
    }
}

impl Room {
    /// What the system leaves to this process now.
    pub fn of_this_process() -> Room {
        let left = limit().map(|limit| limit.saturating_sub(size().unwrap_or(0)).saturating_sub(SPARE));
        Room { left: left.map(Mutex::new) }
    }

    /// Takes room for a text of so many bytes, for as long as what comes back is kept.
    ///
    /// # Errors
    /// If there is none, in words.
    pub fn take(&self, text: usize) -> Result<Taken<'_>, String> {
        let bytes = LEAST + text as u64 * FACTOR;
        let Some(left) = &self.left else { return Ok(Taken { room: self, bytes: 0 }) };
        let mut left = left.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        if *left < bytes {
            let (needs, has) = (bytes.div_ceil(1 << 20), *left >> 20);
            return Err(format!(
                "to check it may take {needs} MB of memory, and the system's limit leaves {has} MB"
            ));
        }
        *left -= bytes;
        Ok(Taken { room: self, bytes })
    }
}

/// The most bytes that this process may map, where the system says so.
fn limit() -> Option<u64> {
    let limits = fs::read_to_string("/proc/self/limits").ok()?;
    limit_in(&limits)
}

fn limit_in(limits: &str) -> Option<u64> {
    let line = limits.lines().find_map(|line| line.strip_prefix("Max address space"))?;
    line.split_whitespace().next()?.parse().ok()
}

/// The bytes that this process has mapped.
fn size() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmSize:"))?;
    Some(line.split_whitespace().next()?.parse::<u64>().ok()? << 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limit_is_read_where_there_is_one() {
        let line = "Max address space         314572800            unlimited            bytes     \n";
        assert_eq!(limit_in(line), Some(314_572_800));
        assert_eq!(
            limit_in("Max address space         unlimited            unlimited            bytes\n"),
            None
        );
        assert_eq!(limit_in(""), None);
    }

    #[test]
    fn room_is_given_back_and_what_does_not_fit_is_refused() {
        let room = Room { left: Some(Mutex::new(100 << 20)) };
        let first = room.take(1 << 20).unwrap();
        let refused = room.take(1 << 20).err().unwrap();
        assert_eq!(refused, "to check it may take 68 MB of memory, and the system's limit leaves 32 MB");
        drop(first);
        assert!(room.take(1 << 20).is_ok());
        assert!(Room { left: None }.take(1 << 40).is_ok());
    }
}
