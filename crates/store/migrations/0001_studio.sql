-- What a studio is: pieces, players, what is marked, chosen, practised, recorded.
-- Days are `2027-01-05`, moments are UTC by RFC 3339. A place in a piece is a hold (JSON, src/bars/hold.rs).

-- Files as they came, by the SHA-256 of their bytes. `leaving`: their rows are gone, the bytes are about to be.
CREATE TABLE kept_file (
  hash TEXT PRIMARY KEY,
  bytes INTEGER NOT NULL,
  added TEXT NOT NULL
) STRICT;
CREATE TABLE leaving (hash TEXT PRIMARY KEY) STRICT;

CREATE TABLE setting (
  name TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT;

CREATE TABLE piece (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  title TEXT NOT NULL,
  file_name TEXT NOT NULL,
  file TEXT NOT NULL REFERENCES kept_file (hash),
  tune TEXT,
  part TEXT,
  purpose TEXT NOT NULL DEFAULT '',
  version INTEGER NOT NULL DEFAULT 1,
  demo INTEGER NOT NULL DEFAULT 0,
  added TEXT NOT NULL,
  put_away TEXT
) STRICT;
CREATE INDEX piece_by_file ON piece (file);

-- Every file that a piece has had, the first included.
CREATE TABLE piece_version (
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  version INTEGER NOT NULL,
  file_name TEXT NOT NULL,
  file TEXT NOT NULL REFERENCES kept_file (hash),
  added TEXT NOT NULL,
  PRIMARY KEY (piece, version)
) STRICT;

-- What the survey says, as far as a folder is searched by it. Made again whenever the file or the program changes.
CREATE TABLE summary (
  piece INTEGER PRIMARY KEY REFERENCES piece (id) ON DELETE CASCADE,
  version INTEGER NOT NULL,
  made_by TEXT NOT NULL,
  composer TEXT,
  instrument TEXT,
  instrument_name TEXT,
  key_name TEXT,
  most_flats INTEGER,
  most_sharps INTEGER,
  lowest TEXT,
  highest TEXT,
  lowest_key INTEGER,
  highest_key INTEGER,
  bars INTEGER,
  seconds REAL,
  load REAL,
  document TEXT NOT NULL
) STRICT;
CREATE TABLE summary_metre (
  piece INTEGER NOT NULL REFERENCES summary (piece) ON DELETE CASCADE,
  at INTEGER NOT NULL,
  metre TEXT NOT NULL,
  PRIMARY KEY (piece, at)
) STRICT;
CREATE TABLE summary_level (
  piece INTEGER NOT NULL REFERENCES summary (piece) ON DELETE CASCADE,
  table_name TEXT NOT NULL,
  level TEXT NOT NULL,
  rank REAL NOT NULL,
  PRIMARY KEY (piece, table_name)
) STRICT;
CREATE TABLE summary_feature (
  piece INTEGER NOT NULL REFERENCES summary (piece) ON DELETE CASCADE,
  feature TEXT NOT NULL,
  PRIMARY KEY (piece, feature)
) STRICT;

CREATE TABLE player (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  file TEXT NOT NULL,
  notes TEXT NOT NULL DEFAULT '',
  large_print INTEGER NOT NULL DEFAULT 0,
  demo INTEGER NOT NULL DEFAULT 0,
  added TEXT NOT NULL,
  put_away TEXT
) STRICT;

CREATE TABLE assignment (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER NOT NULL REFERENCES player (id) ON DELETE CASCADE,
  since TEXT NOT NULL,
  until TEXT,
  goal TEXT NOT NULL DEFAULT '',
  note TEXT NOT NULL DEFAULT '',
  sittings TEXT NOT NULL DEFAULT '[]',
  done TEXT
) STRICT;
CREATE INDEX assignment_by_player ON assignment (player);
CREATE INDEX assignment_by_piece ON assignment (piece);

CREATE TABLE cut (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  assignment INTEGER NOT NULL REFERENCES assignment (id) ON DELETE CASCADE,
  name TEXT NOT NULL,
  from_hold TEXT NOT NULL,
  to_hold TEXT NOT NULL,
  tempo TEXT NOT NULL DEFAULT '',
  note TEXT NOT NULL DEFAULT '',
  placed INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE INDEX cut_by_piece ON cut (piece);

-- The teacher's pencil, apart from ours. A row about one of our marks names its matter and keeps its place.
CREATE TABLE mark (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  act TEXT NOT NULL CHECK (act IN ('added', 'confirmed', 'changed', 'erased')),
  sign TEXT NOT NULL,
  pencil TEXT NOT NULL DEFAULT 'graphite' CHECK (pencil IN ('graphite', 'first', 'second')),
  text TEXT NOT NULL DEFAULT '',
  note TEXT NOT NULL DEFAULT '',
  bar INTEGER NOT NULL,
  from_hold TEXT NOT NULL,
  to_hold TEXT,
  ours_matter TEXT,
  ours_from TEXT,
  ours_to TEXT,
  document TEXT NOT NULL DEFAULT '{}',
  placed INTEGER NOT NULL DEFAULT 1,
  made TEXT NOT NULL,
  changed TEXT NOT NULL
) STRICT;
CREATE INDEX mark_by_piece ON mark (piece, bar);

CREATE TABLE choice (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  about TEXT NOT NULL,
  bar INTEGER NOT NULL,
  from_hold TEXT NOT NULL,
  to_hold TEXT,
  value TEXT NOT NULL,
  placed INTEGER NOT NULL DEFAULT 1,
  made TEXT NOT NULL,
  changed TEXT NOT NULL
) STRICT;
CREATE INDEX choice_by_piece ON choice (piece, about, bar);

-- One gesture of hers, with each row before and after. `undone` can be done again until something new is done.
CREATE TABLE step (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  what TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('done', 'undone', 'left')),
  changes TEXT NOT NULL,
  made TEXT NOT NULL
) STRICT;
CREATE INDEX step_by_piece ON step (piece, id);

-- The practice log: `line` as it stands for the file of now, `written` as it was written down.
CREATE TABLE visit (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  date TEXT NOT NULL,
  line TEXT NOT NULL,
  written TEXT NOT NULL,
  placed INTEGER NOT NULL DEFAULT 1,
  made TEXT NOT NULL
) STRICT;
CREATE INDEX visit_by_piece ON visit (piece, player, date);
CREATE INDEX visit_by_player ON visit (player, date);

CREATE TABLE plan (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER REFERENCES piece (id) ON DELETE CASCADE,
  call INTEGER REFERENCES call (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  until TEXT,
  asked TEXT NOT NULL,
  document TEXT NOT NULL,
  made TEXT NOT NULL
) STRICT;

CREATE TABLE call (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  date TEXT,
  text TEXT NOT NULL,
  demo INTEGER NOT NULL DEFAULT 0,
  made TEXT NOT NULL,
  changed TEXT NOT NULL
) STRICT;
CREATE TABLE call_piece (
  call INTEGER NOT NULL REFERENCES call (id) ON DELETE CASCADE,
  named TEXT NOT NULL,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  PRIMARY KEY (call, named)
) STRICT;

-- A day to be ready for: a concert, an audition, a lesson.
CREATE TABLE occasion (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  date TEXT NOT NULL,
  name TEXT NOT NULL,
  kind TEXT NOT NULL DEFAULT '',
  requirements TEXT NOT NULL DEFAULT '',
  deadline TEXT,
  call INTEGER REFERENCES call (id) ON DELETE SET NULL
) STRICT;
CREATE TABLE occasion_player (
  occasion INTEGER NOT NULL REFERENCES occasion (id) ON DELETE CASCADE,
  player INTEGER NOT NULL REFERENCES player (id) ON DELETE CASCADE,
  PRIMARY KEY (occasion, player)
) STRICT;

CREATE TABLE look_first (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  version INTEGER NOT NULL,
  seconds REAL,
  document TEXT NOT NULL,
  made TEXT NOT NULL
) STRICT;
CREATE TABLE look_first_miss (
  look INTEGER NOT NULL REFERENCES look_first (id) ON DELETE CASCADE,
  at INTEGER NOT NULL,
  question TEXT NOT NULL,
  bar TEXT NOT NULL,
  what TEXT NOT NULL,
  PRIMARY KEY (look, at)
) STRICT;

CREATE TABLE take (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  version INTEGER NOT NULL,
  file_name TEXT NOT NULL,
  file TEXT NOT NULL REFERENCES kept_file (hash),
  seconds REAL,
  note TEXT NOT NULL DEFAULT '',
  document TEXT NOT NULL DEFAULT '{}',
  recorded TEXT NOT NULL
) STRICT;
CREATE INDEX take_by_piece ON take (piece, player, recorded);

CREATE TABLE rubric (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  source TEXT NOT NULL DEFAULT '',
  document TEXT NOT NULL,
  made TEXT NOT NULL,
  changed TEXT NOT NULL
) STRICT;
CREATE TABLE judgement (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  rubric INTEGER NOT NULL REFERENCES rubric (id) ON DELETE CASCADE,
  piece INTEGER NOT NULL REFERENCES piece (id) ON DELETE CASCADE,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  take INTEGER REFERENCES take (id) ON DELETE SET NULL,
  document TEXT NOT NULL,
  made TEXT NOT NULL
) STRICT;

-- Paired devices, and what they are let in by: never the secret itself, only its hash.
CREATE TABLE device (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL,
  player INTEGER REFERENCES player (id) ON DELETE CASCADE,
  paired TEXT NOT NULL,
  last_seen TEXT,
  ended TEXT
) STRICT;
CREATE TABLE session (
  secret TEXT PRIMARY KEY,
  device INTEGER NOT NULL REFERENCES device (id) ON DELETE CASCADE,
  began TEXT NOT NULL,
  until TEXT NOT NULL
) STRICT;
