/** Migrations of a study file; the position in the list, from 1, is the version that the step leads to. */

/** Tables whose rows belong to a trial and never change once written. */
const recordTables = ['frozen', 'link', 'chunk', 'wire', 'event'];

const version1 = `
CREATE TABLE study (
  only INTEGER PRIMARY KEY CHECK (only = 1),
  study TEXT NOT NULL,
  name TEXT NOT NULL,
  created_at TEXT NOT NULL,
  genesis BLOB NOT NULL,
  seal_count INTEGER NOT NULL,
  seal_head BLOB NOT NULL
) STRICT;

CREATE TABLE lease (
  only INTEGER PRIMARY KEY CHECK (only = 1),
  host TEXT NOT NULL,
  machine TEXT NOT NULL,
  process INTEGER NOT NULL,
  heartbeat_at TEXT NOT NULL
) STRICT;

CREATE TABLE trial (
  number INTEGER PRIMARY KEY,
  trial TEXT NOT NULL UNIQUE,
  created_at TEXT NOT NULL
) STRICT;

CREATE TABLE frozen (
  trial INTEGER NOT NULL REFERENCES trial (number),
  part TEXT NOT NULL,
  json TEXT NOT NULL,
  digest BLOB NOT NULL,
  UNIQUE (trial, part)
) STRICT;

CREATE TABLE link (
  trial INTEGER NOT NULL REFERENCES trial (number),
  link INTEGER NOT NULL,
  from_microseconds INTEGER NOT NULL,
  through_microseconds INTEGER NOT NULL,
  body BLOB NOT NULL,
  digest BLOB NOT NULL,
  UNIQUE (trial, link)
) STRICT;

CREATE TABLE chunk (
  trial INTEGER NOT NULL REFERENCES trial (number),
  link INTEGER NOT NULL,
  stream INTEGER NOT NULL,
  count INTEGER NOT NULL,
  encoding TEXT NOT NULL,
  cipher TEXT NOT NULL,
  blob BLOB NOT NULL,
  content_digest BLOB NOT NULL,
  digest BLOB NOT NULL,
  UNIQUE (trial, link, stream)
) STRICT;

CREATE TABLE wire (
  trial INTEGER NOT NULL REFERENCES trial (number),
  link INTEGER NOT NULL,
  instrument INTEGER NOT NULL,
  direction INTEGER NOT NULL CHECK (direction IN (0, 1)),
  count INTEGER NOT NULL,
  encoding TEXT NOT NULL,
  cipher TEXT NOT NULL,
  blob BLOB NOT NULL,
  digest BLOB NOT NULL,
  UNIQUE (trial, link, instrument, direction)
) STRICT;

CREATE TABLE event (
  trial INTEGER NOT NULL REFERENCES trial (number),
  link INTEGER NOT NULL,
  position INTEGER NOT NULL,
  at_microseconds INTEGER NOT NULL,
  kind TEXT NOT NULL,
  json TEXT NOT NULL,
  digest BLOB NOT NULL,
  UNIQUE (trial, link, position)
) STRICT;
CREATE INDEX event_by_kind ON event (trial, kind, link, position);

CREATE TABLE seal (
  seal INTEGER PRIMARY KEY,
  trial TEXT NOT NULL UNIQUE,
  links INTEGER NOT NULL,
  head BLOB NOT NULL,
  sealed_at TEXT NOT NULL,
  body BLOB NOT NULL,
  digest BLOB NOT NULL
) STRICT;

CREATE TABLE assessment (
  number INTEGER PRIMARY KEY,
  assessment TEXT NOT NULL UNIQUE,
  trial TEXT NOT NULL,
  method_name TEXT NOT NULL,
  method_version INTEGER NOT NULL,
  method_digest BLOB NOT NULL,
  trial_head BLOB NOT NULL,
  program TEXT NOT NULL,
  created_at TEXT NOT NULL,
  json TEXT NOT NULL,
  digest BLOB NOT NULL
) STRICT;
CREATE INDEX assessment_by_trial ON assessment (trial);

CREATE TABLE cell (
  assessment INTEGER NOT NULL REFERENCES assessment (number),
  position INTEGER NOT NULL,
  exercise TEXT NOT NULL,
  probe TEXT NOT NULL,
  dwell_position INTEGER,
  window_percent REAL,
  window_low_percent REAL,
  window_high_percent REAL,
  exercise_percent REAL,
  flags TEXT NOT NULL,
  UNIQUE (assessment, position)
) STRICT;

CREATE TRIGGER study_update BEFORE UPDATE OF only, study, name, created_at, genesis ON study
BEGIN SELECT RAISE(ABORT, 'study-fixed'); END;
CREATE TRIGGER study_delete BEFORE DELETE ON study BEGIN SELECT RAISE(ABORT, 'study-fixed'); END;
CREATE TRIGGER trial_update BEFORE UPDATE ON trial BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER trial_delete BEFORE DELETE ON trial BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
${recordTables
  .map(
    (table) => `CREATE TRIGGER ${table}_insert BEFORE INSERT ON ${table}
WHEN EXISTS (SELECT 1 FROM seal JOIN trial ON trial.trial = seal.trial WHERE trial.number = NEW.trial)
BEGIN SELECT RAISE(ABORT, 'trial-sealed'); END;
CREATE TRIGGER ${table}_update BEFORE UPDATE ON ${table} BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER ${table}_delete BEFORE DELETE ON ${table} BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;`,
  )
  .join('\n')}
${['seal', 'assessment', 'cell']
  .map(
    (table) => `CREATE TRIGGER ${table}_update BEFORE UPDATE ON ${table} BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER ${table}_delete BEFORE DELETE ON ${table} BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;`,
  )
  .join('\n')}
`;

/** Sealed trials that a reviewer made void, and what was taken back of it. */
const version2 = `
CREATE TABLE voiding (
  number INTEGER PRIMARY KEY,
  trial TEXT NOT NULL,
  json TEXT NOT NULL,
  digest BLOB NOT NULL
) STRICT;
CREATE INDEX voiding_by_trial ON voiding (trial);
ALTER TABLE study ADD COLUMN voidings INTEGER NOT NULL DEFAULT 0;

CREATE TRIGGER voiding_update BEFORE UPDATE ON voiding BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER voiding_delete BEFORE DELETE ON voiding BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
`;

/** Who signed which assessment as what, each in a chain with those before. */
const version3 = `
CREATE TABLE signature (
  number INTEGER PRIMARY KEY,
  trial TEXT NOT NULL,
  json TEXT NOT NULL,
  digest BLOB NOT NULL,
  key_signature TEXT NOT NULL
) STRICT;
CREATE INDEX signature_by_trial ON signature (trial);
ALTER TABLE study ADD COLUMN signatures INTEGER NOT NULL DEFAULT 0;
ALTER TABLE study ADD COLUMN signature_head BLOB NOT NULL DEFAULT x'';

CREATE TRIGGER signature_update BEFORE UPDATE ON signature BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER signature_delete BEFORE DELETE ON signature BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
`;

export const studyMigrations: readonly string[] = [version1, version2, version3];
