/** Migrations of a laboratory file; the position in the list, from 1, is the version that the step leads to. */

const version1 = `
CREATE TABLE person (
  number INTEGER PRIMARY KEY,
  person TEXT NOT NULL UNIQUE,
  code TEXT NOT NULL UNIQUE,
  name TEXT NOT NULL,
  roles TEXT NOT NULL,
  salt BLOB NOT NULL,
  pin_hash BLOB NOT NULL,
  cost INTEGER NOT NULL,
  block_size INTEGER NOT NULL,
  parallel INTEGER NOT NULL,
  active INTEGER NOT NULL CHECK (active IN (0, 1)),
  created_at TEXT NOT NULL
) STRICT;

CREATE TABLE document (
  number INTEGER PRIMARY KEY,
  kind TEXT NOT NULL CHECK (kind IN ('rig', 'method', 'series')),
  name TEXT NOT NULL,
  version INTEGER NOT NULL CHECK (version > 0),
  json TEXT NOT NULL,
  digest BLOB NOT NULL,
  created_at TEXT NOT NULL,
  UNIQUE (kind, name, version)
) STRICT;
CREATE INDEX document_by_digest ON document (digest);

CREATE TRIGGER person_delete BEFORE DELETE ON person BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER document_update BEFORE UPDATE ON document BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER document_delete BEFORE DELETE ON document BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
`;

/** Where instruments are connected today, which changes between mornings, and what checks of a rig have shown. */
const version2 = `
CREATE TABLE connection (
  number INTEGER PRIMARY KEY,
  rig TEXT NOT NULL,
  instrument TEXT NOT NULL,
  settings TEXT NOT NULL,
  changed_at TEXT NOT NULL,
  UNIQUE (rig, instrument)
) STRICT;

CREATE TABLE rig_check (
  number INTEGER PRIMARY KEY,
  rig TEXT NOT NULL,
  rig_version INTEGER NOT NULL CHECK (rig_version > 0),
  json TEXT NOT NULL,
  created_at TEXT NOT NULL
) STRICT;
CREATE INDEX rig_check_by_rig ON rig_check (rig, rig_version);

CREATE TRIGGER rig_check_update BEFORE UPDATE ON rig_check BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER rig_check_delete BEFORE DELETE ON rig_check BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
`;

/** All that a check recorded: whoever doubts its verdict can judge it again. */
const version3 = `
CREATE TABLE rig_check_record (
  rig_check INTEGER PRIMARY KEY REFERENCES rig_check (number),
  json TEXT NOT NULL,
  digest BLOB NOT NULL
) STRICT;

CREATE TRIGGER rig_check_record_update BEFORE UPDATE ON rig_check_record
BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER rig_check_record_delete BEFORE DELETE ON rig_check_record
BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
`;

/** What the laboratory owns, what certificates say of it, and the files that came with them. */
const version4 = `
CREATE TABLE register_record (
  number INTEGER PRIMARY KEY,
  json TEXT NOT NULL,
  digest BLOB NOT NULL
) STRICT;

CREATE TABLE register_file (
  digest BLOB PRIMARY KEY,
  bytes BLOB NOT NULL
) STRICT;

CREATE TRIGGER register_record_update BEFORE UPDATE ON register_record
BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER register_record_delete BEFORE DELETE ON register_record
BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER register_file_update BEFORE UPDATE ON register_file
BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
CREATE TRIGGER register_file_delete BEFORE DELETE ON register_file
BEGIN SELECT RAISE(ABORT, 'record-fixed'); END;
`;

export const laboratoryMigrations: readonly string[] = [version1, version2, version3, version4];
