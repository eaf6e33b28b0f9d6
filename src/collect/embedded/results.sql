PRAGMA application_id = 1346459218;
PRAGMA user_version = 3;
CREATE TABLE run (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE plan (
    kit     TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    edition TEXT NOT NULL,
    paper   TEXT NOT NULL,
    proof   INTEGER NOT NULL,
    sheets  INTEGER NOT NULL
) WITHOUT ROWID;
CREATE TABLE sheet (
    kit    TEXT NOT NULL,
    number INTEGER NOT NULL,
    name   TEXT NOT NULL,
    PRIMARY KEY (kit, number)
) WITHOUT ROWID;
CREATE TABLE picture (
    team    TEXT NOT NULL,
    file    TEXT NOT NULL,
    sha256  TEXT,
    error   TEXT,
    scanner TEXT,
    picture INTEGER NOT NULL,
    basis   TEXT NOT NULL,
    PRIMARY KEY (team, file)
) WITHOUT ROWID;
CREATE TABLE inspection (
    sha256     TEXT NOT NULL,
    basis      TEXT NOT NULL,
    page       INTEGER NOT NULL,
    error      TEXT,
    kit        TEXT,
    number     INTEGER,
    verdict    TEXT,
    photograph INTEGER,
    reference  TEXT,
    U_rel      REAL,
    answer     TEXT NOT NULL,
    advice     TEXT NOT NULL,
    asks       INTEGER,
    code       TEXT,
    json       TEXT NOT NULL,
    PRIMARY KEY (sha256, basis, page)
) WITHOUT ROWID;
CREATE TABLE value (
    sha256    TEXT NOT NULL,
    basis     TEXT NOT NULL,
    page      INTEGER NOT NULL,
    n         INTEGER NOT NULL,
    kind      TEXT NOT NULL,
    name      TEXT NOT NULL,
    other     TEXT NOT NULL,
    nominal   REAL,
    value     REAL,
    U         REAL,
    tolerance REAL,
    verdict   TEXT,
    PRIMARY KEY (sha256, basis, page, n)
) WITHOUT ROWID;
