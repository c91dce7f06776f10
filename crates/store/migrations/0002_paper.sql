-- A piece that was read from printed pages: the file as it came, what was read (the reader's signs with their other readings, as JSON
-- text), and whether its page is one of the teacher's own test pages.
CREATE TABLE paper (
  piece INTEGER PRIMARY KEY REFERENCES piece (id) ON DELETE CASCADE,
  file_name TEXT NOT NULL,
  file TEXT NOT NULL REFERENCES kept_file (hash),
  document TEXT NOT NULL,
  test_page INTEGER NOT NULL DEFAULT 0,
  made TEXT NOT NULL
) STRICT;

-- Each of its systems, straightened, as a picture.
CREATE TABLE paper_strip (
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  system INTEGER NOT NULL,
  file TEXT NOT NULL REFERENCES kept_file (hash),
  PRIMARY KEY (piece, system)
) STRICT;

-- What was put right, one gesture a row, in order: edits over what was read. What was undone stays, and counts no more.
CREATE TABLE paper_edit (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  edits TEXT NOT NULL,
  undone TEXT,
  made TEXT NOT NULL
) STRICT;
CREATE INDEX paper_edit_by_piece ON paper_edit (piece, id);
