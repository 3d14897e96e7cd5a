use super::*;
use crate::bridge::job::{self, Asked};
use std::io::ErrorKind;
use tempfile::TempDir;

/// A job that is under way.
fn job() -> (Asked<()>, Doing<()>) {
    job::channel()
}

fn folder() -> TempDir {
    tempfile::tempdir().unwrap()
}

/// What lies in a folder.
fn names(folder: &TempDir) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let name = |entry: io::Result<fs::DirEntry>| entry.unwrap().file_name();
    entries.map(|e| name(e).into_string().unwrap()).collect()
}

fn error<R: fmt::Debug>(result: Result<R, FileError>) -> String {
    result.unwrap_err().to_string()
}

#[test]
fn what_is_written_is_read_whole() {
    let folder = folder();
    let path = folder.path().join("some.mid");
    let bytes: Vec<u8> = (0..=255).cycle().take(3 * PIECE + 17).collect();
    let (_asked, doing) = job();
    write(&path, &bytes, false, &doing).unwrap();
    let (_asked, doing) = job();
    assert_eq!(read(&path, &doing).unwrap(), bytes);
    assert_eq!(names(&folder), ["some.mid"]);
}

#[test]
fn a_file_is_replaced_only_where_that_is_asked_for() {
    let folder = folder();
    let path = folder.path().join("mine.mid");
    fs::write(&path, "old").unwrap();
    let (_asked, doing) = job();
    let refused = write(&path, b"new", false, &doing);
    assert!(matches!(refused, Err(FileError::IsThere)), "{refused:?}");
    assert_eq!(fs::read(&path).unwrap(), b"old");
    let (_asked, doing) = job();
    write(&path, b"new", true, &doing).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"new");
    assert_eq!(names(&folder), ["mine.mid"]);
}

#[test]
fn a_folder_is_no_file() {
    let folder = folder();
    let (_asked, doing) = job();
    let said = "it is a folder, not a file";
    assert_eq!(error(read(folder.path(), &doing)), said);
    assert_eq!(error(write(folder.path(), b"new", true, &doing)), said);
    assert_eq!(names(&folder), [""; 0]);
}

#[test]
fn a_file_beyond_the_limit_is_not_read() {
    let folder = folder();
    let path = folder.path().join("huge.mid");
    let file = File::create(&path).unwrap();
    let (_asked, doing) = job();
    file.set_len(LARGEST_FILE as u64 + 1).unwrap();
    let said = "it is larger than 16 MiB, the most that is read";
    assert_eq!(error(read(&path, &doing)), said);
    file.set_len(LARGEST_FILE as u64).unwrap();
    assert_eq!(read(&path, &doing).unwrap().len(), LARGEST_FILE);
}

#[test]
fn a_file_that_grows_while_it_is_read_ends_at_the_limit() {
    let mut grows = CountedReader {
        source: io::repeat(b'x'),
        bytes: 0,
    };
    let ended = take_in(&mut grows, &|| true);
    assert!(matches!(ended, Err(FileError::TooLarge)), "{ended:?}");
    assert!(grows.bytes <= LARGEST_FILE + PIECE, "{}", grows.bytes);
}

#[test]
fn a_slow_file_can_be_cancelled_between_two_pieces() {
    let mut slow = CountedReader {
        source: io::repeat(b'x'),
        bytes: 0,
    };
    let (asked, doing) = job();
    let asked = std::cell::Cell::new(Some(asked));
    let looks = std::cell::Cell::new(0);
    let ended = take_in(&mut slow, &|| {
        looks.set(looks.get() + 1);
        if looks.get() == 3 {
            assert!(asked.take().is_some_and(Asked::cancel));
        }
        doing.is_awaited()
    });
    assert!(matches!(ended, Err(FileError::Cancelled)), "{ended:?}");
    assert_eq!(slow.bytes, 3 * PIECE);
}

#[test]
fn a_source_that_has_nothing_yet_is_asked_again() {
    struct Waits(u32);
    impl Read for Waits {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            self.0 += 1;
            match self.0 {
                1 | 3 => Err(ErrorKind::WouldBlock.into()),
                2 => Err(ErrorKind::Interrupted.into()),
                4 => {
                    into[0] = b'|';
                    Ok(1)
                }
                _ => Ok(0),
            }
        }
    }
    assert_eq!(take_in(&mut Waits(0), &|| true).unwrap(), b"|");
    let cancelled = take_in(&mut Waits(0), &|| false);
    assert!(matches!(cancelled, Err(FileError::Cancelled)));
}

#[test]
fn a_job_that_nobody_waits_for_reads_no_further_but_writes_to_the_end() {
    let folder = folder();
    let path = folder.path().join("left.mid");
    let (asked, doing) = job();
    drop(asked);
    write(&path, b"whole", false, &doing).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"whole");
    let read = read(&path, &doing);
    assert!(matches!(read, Err(FileError::Cancelled)), "{read:?}");
}

#[test]
fn a_cancelled_write_leaves_everything_as_it_was() {
    let folder = folder();
    let path = folder.path().join("mine.mid");
    let (asked, doing) = job();
    assert!(asked.cancel());
    let new = write(&path, b"new", false, &doing);
    assert!(matches!(new, Err(FileError::Cancelled)), "{new:?}");
    // No piece is left to be written, so that the last step is what refuses.
    let empty = write(&path, b"", false, &doing);
    assert!(matches!(empty, Err(FileError::Cancelled)), "{empty:?}");
    assert_eq!(names(&folder), [""; 0]);
    fs::write(&path, "old").unwrap();
    let over = write(&path, b"", true, &doing);
    assert!(matches!(over, Err(FileError::Cancelled)), "{over:?}");
    assert_eq!(fs::read(&path).unwrap(), b"old");
    assert_eq!(names(&folder), ["mine.mid"]);
}

#[test]
fn a_file_that_appears_meanwhile_is_not_replaced() {
    let folder = folder();
    let path = folder.path().join("mine.mid");
    for replaces in [false, true] {
        let appears = || {
            fs::write(&path, "theirs").unwrap();
            true
        };
        let written = put(&path, b"new", replaces, &|| true, appears);
        assert!(matches!(written, Err(FileError::IsThere)), "{written:?}");
        assert_eq!(fs::read(&path).unwrap(), b"theirs");
        assert_eq!(names(&folder), ["mine.mid"]);
        fs::remove_file(&path).unwrap();
    }
}

#[test]
fn nothing_is_left_where_there_is_no_folder() {
    let folder = folder();
    let (_asked, doing) = job();
    let path = folder.path().join("none/mine.mid");
    for result in [
        write(&path, b"new", false, &doing),
        write(&path, b"new", true, &doing),
        read(&path, &doing).map(|_| ()),
    ] {
        let Err(FileError::System(error)) = result else {
            panic!("{result:?}")
        };
        assert_eq!(error.kind(), ErrorKind::NotFound);
    }
    assert_eq!(names(&folder), [""; 0]);
}

/// Counts what is read of a source.
struct CountedReader<R> {
    source: R,
    bytes: usize,
}

impl<R: Read> Read for CountedReader<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.source.read(into)?;
        self.bytes += count;
        Ok(count)
    }
}

/// What only Unix has.
#[cfg(unix)]
mod unix {
    use super::*;
    use std::env;
    use std::ffi::CString;
    use std::fs::Permissions;
    use std::os::unix::ffi::OsStrExt;
    use std::os::unix::fs::{FileTypeExt, PermissionsExt, symlink};
    use std::os::unix::net::UnixListener;
    use std::process::Command;

    pub(super) fn make_pipe(path: &Path) {
        let name = CString::new(path.as_os_str().as_bytes()).unwrap();
        // SAFETY: the name ends with a zero and lives until the call returns.
        let done = unsafe { libc::mkfifo(name.as_ptr(), 0o600) };
        assert_eq!(done, 0, "{}", io::Error::last_os_error());
    }

    fn mode(path: &Path) -> u32 {
        fs::metadata(path).unwrap().permissions().mode() & 0o7777
    }

    #[test]
    fn a_pipe_is_neither_waited_for_nor_replaced() {
        let folder = folder();
        let path = folder.path().join("pipe");
        make_pipe(&path);
        let (_asked, doing) = job();
        let said = "it is a pipe, not a file";
        assert_eq!(error(read(&path, &doing)), said);
        for replaces in [false, true] {
            assert_eq!(error(write(&path, b"new", replaces, &doing)), said);
        }
        assert!(fs::metadata(&path).unwrap().file_type().is_fifo());
        assert_eq!(names(&folder), ["pipe"]);
    }

    #[test]
    fn a_socket_is_no_file() {
        let folder = folder();
        let path = folder.path().join("socket");
        let _listener = UnixListener::bind(&path).unwrap();
        let (_asked, doing) = job();
        let said = "it is a socket, not a file";
        assert_eq!(error(read(&path, &doing)), said);
        assert_eq!(error(write(&path, b"new", true, &doing)), said);
        assert_eq!(names(&folder), ["socket"]);
    }

    #[test]
    fn a_device_is_no_file() {
        let (_asked, doing) = job();
        let said = "it is a device, not a file";
        assert_eq!(error(read(Path::new("/dev/zero"), &doing)), said);
        // `write` opens what it would replace in the same way.
        let opened = open(Path::new("/dev/null"), File::options().write(true), &|| {
            true
        });
        assert_eq!(error(opened), said);
    }

    #[test]
    fn a_symbolic_link_is_followed_and_stays() {
        let folder = folder();
        let inner = folder.path().join("inner");
        fs::create_dir(&inner).unwrap();
        let target = inner.join("target.mid");
        // Relative to the folder that it lies in, by way of another link.
        symlink("inner/also.mid", folder.path().join("link.mid")).unwrap();
        symlink("target.mid", inner.join("also.mid")).unwrap();
        let link = folder.path().join("link.mid");
        for (bytes, replaces) in [(b"one", false), (b"two", true)] {
            let (_asked, doing) = job();
            write(&link, bytes, replaces, &doing).unwrap();
            assert_eq!(fs::read(&target).unwrap(), bytes);
            assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
            assert!(!fs::symlink_metadata(&target).unwrap().is_symlink());
        }
        let (_asked, doing) = job();
        let again = write(&link, b"three", false, &doing);
        assert!(matches!(again, Err(FileError::IsThere)), "{again:?}");
        assert_eq!(read(&link, &doing).unwrap(), b"two");
    }

    #[test]
    fn links_that_lead_to_each_other_end() {
        let folder = folder();
        let path = folder.path().join("one");
        symlink("other", &path).unwrap();
        symlink("one", folder.path().join("other")).unwrap();
        let (_asked, doing) = job();
        for result in [
            write(&path, b"new", true, &doing),
            read(&path, &doing).map(|_| ()),
        ] {
            assert!(matches!(result, Err(FileError::System(_))), "{result:?}");
        }
        assert!(fs::symlink_metadata(&path).unwrap().is_symlink());
    }

    #[test]
    fn permissions_are_kept_and_a_new_file_has_the_usual_ones() {
        let folder = folder();
        let (old, new) = (folder.path().join("old"), folder.path().join("new"));
        let usual = folder.path().join("usual");
        fs::write(&old, "old").unwrap();
        fs::set_permissions(&old, Permissions::from_mode(0o640)).unwrap();
        fs::write(&usual, "").unwrap();
        let (_asked, doing) = job();
        write(&old, b"new", true, &doing).unwrap();
        write(&new, b"new", false, &doing).unwrap();
        assert_eq!(mode(&old), 0o640);
        assert_eq!(mode(&new), mode(&usual));
    }

    /// The system stops a write in its middle, as on a full disk: no file may grow beyond the
    /// limit of the process (POSIX, `setrlimit`, `RLIMIT_FSIZE`).
    #[test]
    fn a_write_that_fails_leaves_everything_as_it_was() {
        let output = Command::new("sh")
            .args(["-c", "trap '' XFSZ; ulimit -f 16; exec \"$0\" \"$@\""])
            .arg(env::current_exe().unwrap())
            .args(["--exact", "disk::file::tests::unix::write_beyond_a_limit"])
            .args(["--ignored", "--nocapture"])
            .output()
            .unwrap();
        let words = String::from_utf8_lossy(&output.stdout);
        assert!(output.status.success(), "{words}");
        assert!(words.contains("1 passed"), "it did not run: {words}");
    }

    #[test]
    #[ignore = "runs in a process of its own, which may not write large files"]
    fn write_beyond_a_limit() {
        let folder = folder();
        let (old, new) = (folder.path().join("old"), folder.path().join("new"));
        fs::write(&old, "old").unwrap();
        let bytes = vec![b'x'; 1024 * 1024];
        for path in [&old, &new] {
            let (_asked, doing) = job();
            let written = write(path, &bytes, true, &doing);
            let Err(FileError::System(error)) = written else {
                panic!("{written:?}")
            };
            // A full disk says the second; point `TMPDIR` at one to see it.
            let stopped = [ErrorKind::FileTooLarge, ErrorKind::StorageFull];
            assert!(stopped.contains(&error.kind()), "{error:?}");
        }
        assert_eq!(fs::read(&old).unwrap(), b"old");
        assert_eq!(names(&folder), ["old"]);
    }
}

/// What only Linux has.
#[cfg(target_os = "linux")]
mod linux {
    use super::*;
    use crate::disk::lease::Lease;
    use std::cell::RefCell;

    #[test]
    fn a_folder_that_takes_no_files_says_so() {
        let (_asked, doing) = job();
        // Not even the administrator makes a file there.
        let written = write(Path::new("/proc/self/mine.mid"), b"new", false, &doing);
        assert!(matches!(written, Err(FileError::System(_))), "{written:?}");
    }

    /// Opens a file that is held, and does something once when it has to wait.
    fn open_held(path: &Path, meanwhile: impl FnOnce(Lease)) -> Result<Vec<u8>, FileError> {
        let waiting = RefCell::new(Some((Lease::of(path), meanwhile)));
        let is_wanted = || {
            if let Some((lease, meanwhile)) = waiting.take() {
                meanwhile(lease);
            }
            true
        };
        let (mut file, _) = open(path, File::options().read(true), &is_wanted)?;
        assert!(waiting.take().is_none(), "it did not have to wait");
        take_in(&mut file, &is_wanted)
    }

    #[test]
    fn a_file_that_another_program_holds_is_waited_for() {
        let folder = folder();
        let path = folder.path().join("held.mid");
        fs::write(&path, "bytes").unwrap();
        assert_eq!(open_held(&path, drop).unwrap(), b"bytes");
    }

    #[test]
    fn a_file_that_vanishes_is_said() {
        let folder = folder();
        let path = folder.path().join("held.mid");
        fs::write(&path, "bytes").unwrap();
        let gone = open_held(&path, |_| fs::remove_file(&path).unwrap());
        let Err(FileError::System(error)) = gone else {
            panic!("{gone:?}")
        };
        assert_eq!(error.kind(), ErrorKind::NotFound);
    }

    #[test]
    fn a_pipe_that_takes_the_place_of_a_file_is_not_waited_for() {
        let folder = folder();
        let path = folder.path().join("held.mid");
        fs::write(&path, "bytes").unwrap();
        let swapped = open_held(&path, |_| {
            fs::remove_file(&path).unwrap();
            unix::make_pipe(&path);
        });
        assert_eq!(error(swapped), "it is a pipe, not a file");
    }
}
