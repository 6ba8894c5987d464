-- Schema 1 of the book.
--
-- Texts are UTF-8. Moments (_ms) are milliseconds since 1970 UTC, days are local dates YYYY-MM-DD,
-- volumes (_ml) millilitres, temperatures (_c) degrees Celsius; null: not known or not stated.
-- A row that can be exchanged between two books carries a stable random id of 16 bytes.
-- Nothing is deleted: see correction, verdict, ledger and the versions of process.
--
-- Columns marked "derived" follow from other rows. They are kept so that a list needs no sums,
-- are written in the transaction that changes what they follow from, and are checked with it.

CREATE TABLE setting (
    key   TEXT PRIMARY KEY CHECK (key <> ''),
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- The old value of a field that was corrected. `what` names the table; wall_ms is null where the
-- moment was not told.
CREATE TABLE correction (
    correction INTEGER PRIMARY KEY,
    what       TEXT NOT NULL CHECK (what IN ('roll', 'tank', 'batch', 'place')),
    row        INTEGER NOT NULL,
    field      TEXT NOT NULL,
    old        TEXT,
    new        TEXT,
    reason     TEXT NOT NULL,
    wall_ms    INTEGER
) STRICT;
CREATE INDEX correction_of ON correction (what, row);

CREATE TABLE film (
    film INTEGER PRIMARY KEY,
    id   BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    name TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (name <> '')
) STRICT;

-- A process keeps its earlier versions: only one of a name is current.
CREATE TABLE process (
    process   INTEGER PRIMARY KEY,
    id        BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    name      TEXT NOT NULL COLLATE NOCASE CHECK (name <> ''),
    version   INTEGER NOT NULL CHECK (version >= 1),
    current   INTEGER NOT NULL CHECK (current IN (0, 1)),
    kept_ms   INTEGER NOT NULL,
    film      TEXT NOT NULL, -- empty: any
    ei        INTEGER NOT NULL CHECK (ei >= 0), -- 0: not stated
    note      TEXT NOT NULL,
    used_ms   INTEGER NOT NULL DEFAULT 0, -- derived: begin of the latest run under this name
    runs      INTEGER NOT NULL DEFAULT 0, -- derived: how many
    UNIQUE (name, version)
) STRICT;
CREATE UNIQUE INDEX process_current ON process (name) WHERE current = 1;
CREATE INDEX process_used ON process (used_ms, process) WHERE current = 1;

CREATE TABLE process_bath (
    process        INTEGER NOT NULL REFERENCES process,
    bath           INTEGER NOT NULL CHECK (bath >= 0),
    kind           TEXT NOT NULL,
    name           TEXT NOT NULL,
    afterwards     TEXT NOT NULL,
    time_ms        INTEGER NOT NULL, -- 0: the points give it
    pour_in_ms     INTEGER NOT NULL,
    drain_ms       INTEGER NOT NULL,
    count_in_ms    INTEGER NOT NULL,
    longest_ms     INTEGER NOT NULL,
    clock_from     TEXT NOT NULL CHECK (clock_from IN ('full', 'first liquid')),
    drain          TEXT NOT NULL CHECK (drain IN ('inside', 'after')),
    rhythm         TEXT NOT NULL,
    first_ms       INTEGER NOT NULL,
    every_ms       INTEGER NOT NULL,
    length_ms      INTEGER NOT NULL,
    inversions     INTEGER NOT NULL,
    tap            INTEGER NOT NULL CHECK (tap IN (0, 1)),
    want_c         REAL,
    tolerance_c    REAL,
    ratio_per_10c  REAL NOT NULL, -- 0: the general one
    open_film      INTEGER NOT NULL CHECK (open_film IN (0, 1)),
    pieces         INTEGER NOT NULL,
    piece_every_ms INTEGER NOT NULL,
    PRIMARY KEY (process, bath)
) STRICT, WITHOUT ROWID;

-- The parts of a dilution, stock first, water last: 1+1+100 is three rows.
CREATE TABLE process_part (
    process INTEGER NOT NULL,
    bath    INTEGER NOT NULL,
    part    INTEGER NOT NULL CHECK (part >= 0),
    amount  REAL NOT NULL CHECK (amount >= 0),
    PRIMARY KEY (process, bath, part),
    FOREIGN KEY (process, bath) REFERENCES process_bath
) STRICT, WITHOUT ROWID;

CREATE TABLE process_point (
    process INTEGER NOT NULL,
    bath    INTEGER NOT NULL,
    point   INTEGER NOT NULL CHECK (point >= 0),
    c       REAL NOT NULL,
    time_ms INTEGER NOT NULL CHECK (time_ms > 0),
    step_ms INTEGER NOT NULL CHECK (step_ms >= 0), -- 0: not known
    PRIMARY KEY (process, bath, point),
    FOREIGN KEY (process, bath) REFERENCES process_bath
) STRICT, WITHOUT ROWID;

CREATE TABLE process_moment (
    process INTEGER NOT NULL,
    bath    INTEGER NOT NULL,
    moment  INTEGER NOT NULL CHECK (moment >= 0),
    at_ms   INTEGER NOT NULL,
    PRIMARY KEY (process, bath, moment),
    FOREIGN KEY (process, bath) REFERENCES process_bath
) STRICT, WITHOUT ROWID;

CREATE TABLE tank (
    tank         INTEGER PRIMARY KEY,
    id           BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    name         TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (name <> ''),
    reels        INTEGER NOT NULL CHECK (reels >= 0), -- 0: a tray
    least_135_ml REAL NOT NULL CHECK (least_135_ml >= 0), -- 0: not known, here and below
    least_120_ml REAL NOT NULL CHECK (least_120_ml >= 0),
    most_ml      REAL NOT NULL CHECK (most_ml >= 0),
    halving_ms   REAL NOT NULL CHECK (halving_ms >= 0)
) STRICT;

CREATE TABLE batch (
    batch     INTEGER PRIMARY KEY,
    id        BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    number    TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (number <> ''),
    what      TEXT NOT NULL CHECK (what <> ''),
    kind      TEXT NOT NULL CHECK (kind IN ('stock', 'concentrate', 'working')),
    use       TEXT NOT NULL,
    made_day  TEXT,
    who       TEXT NOT NULL,
    volume_ml REAL CHECK (volume_ml > 0),
    least_ml  REAL NOT NULL CHECK (least_ml >= 0), -- of stock for one roll; 0: not set
    colon     TEXT NOT NULL CHECK (colon IN ('ask', 'plus', 'in')),
    note      TEXT NOT NULL,
    left_ml   REAL -- derived: left_ml of the last ledger row
) STRICT;

-- One run: a tank going through its baths. `plan` is the frozen plan as JSON.
CREATE TABLE run (
    run         INTEGER PRIMARY KEY,
    id          BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    process     TEXT NOT NULL,
    process_row INTEGER REFERENCES process, -- the version it was made with, if it was in the book
    tank        TEXT NOT NULL,
    who         TEXT NOT NULL,
    plan        TEXT NOT NULL,
    began_ms    INTEGER NOT NULL,
    ended_ms    INTEGER, -- null: open
    reason      TEXT,    -- why it was given up; null: not
    dry         INTEGER NOT NULL DEFAULT 0 CHECK (dry IN (0, 1)), -- given up before the developer
    epoch       INTEGER NOT NULL CHECK (epoch >= 1), -- of its owner
    developer   TEXT NOT NULL,            -- what is said of it in a line of a list, here and below
    dilution    TEXT NOT NULL,
    batch       INTEGER REFERENCES batch, -- of the developer's first part
    stock_ml    REAL
) STRICT;
CREATE INDEX run_began ON run (began_ms);
CREATE INDEX run_open ON run (began_ms) WHERE ended_ms IS NULL;

CREATE TABLE run_bath (
    run      INTEGER NOT NULL REFERENCES run,
    bath     INTEGER NOT NULL CHECK (bath >= 0),
    kind     TEXT NOT NULL,
    name     TEXT NOT NULL,
    dilution TEXT NOT NULL,
    poured   INTEGER CHECK (poured IN (0, 1)), -- null: not told until the run is closed
    PRIMARY KEY (run, bath)
) STRICT, WITHOUT ROWID;

-- What was measured out for a bath, part by part. A bottle that is not in the book has no batch.
CREATE TABLE measured (
    run   INTEGER NOT NULL,
    bath  INTEGER NOT NULL,
    part  INTEGER NOT NULL CHECK (part >= 0),
    name  TEXT NOT NULL,
    batch INTEGER REFERENCES batch,
    ml    REAL NOT NULL CHECK (ml >= 0),
    water INTEGER NOT NULL CHECK (water IN (0, 1)),
    PRIMARY KEY (run, bath, part),
    FOREIGN KEY (run, bath) REFERENCES run_bath,
    CHECK (water = 0 OR batch IS NULL)
) STRICT, WITHOUT ROWID;
CREATE INDEX measured_from ON measured (batch) WHERE batch IS NOT NULL;

-- Every millilitre in and out of a batch. left_ml is what the row leaves; null: not known.
CREATE TABLE ledger (
    ledger  INTEGER PRIMARY KEY,
    batch   INTEGER NOT NULL REFERENCES batch,
    kind    TEXT NOT NULL CHECK (kind IN ('made', 'drawn', 'returned', 'stock-take', 'discarded')),
    ml      REAL, -- in +, out -; of a stock-take the correction
    left_ml REAL CHECK (left_ml >= 0),
    run     INTEGER REFERENCES run,
    bath    INTEGER,
    wall_ms INTEGER NOT NULL,
    reason  TEXT NOT NULL
) STRICT;
CREATE INDEX ledger_of ON ledger (batch, ledger);

-- One 135, 120, 220 or one sheet.
CREATE TABLE roll (
    roll        INTEGER PRIMARY KEY,
    id          BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    number      TEXT NOT NULL COLLATE NOCASE CHECK (number <> ''),
    film        INTEGER NOT NULL REFERENCES film,
    format      TEXT NOT NULL,
    ei          INTEGER NOT NULL CHECK (ei >= 0), -- 0: not stated
    wish        TEXT NOT NULL,
    camera      TEXT NOT NULL,
    subject     TEXT NOT NULL,
    exposed_day TEXT,
    run         INTEGER REFERENCES run,   -- derived: the latest run that was not given up dry
    state       INTEGER NOT NULL CHECK (state IN (0, 1, 2)), -- derived: waiting, in a tank, developed
    verdict     TEXT NOT NULL,            -- derived: the latest
    listed      INTEGER NOT NULL UNIQUE   -- derived: its place in the list, the latest run highest
) STRICT;
CREATE INDEX roll_number ON roll (number);
CREATE INDEX roll_waiting ON roll (exposed_day IS NULL, exposed_day, roll) WHERE state = 0;
CREATE INDEX roll_unjudged ON roll (listed) WHERE state = 2 AND verdict = '';

-- Where a roll sat in a run; `rolls` is its area in units of 80 square inches.
CREATE TABLE place (
    run   INTEGER NOT NULL REFERENCES run,
    place INTEGER NOT NULL CHECK (place >= 0),
    roll  INTEGER NOT NULL REFERENCES roll,
    reel  INTEGER NOT NULL,
    rolls REAL NOT NULL CHECK (rolls >= 0),
    PRIMARY KEY (run, place)
) STRICT, WITHOUT ROWID;
CREATE INDEX place_of ON place (roll, run);

CREATE TABLE verdict (
    verdict INTEGER PRIMARY KEY,
    roll    INTEGER NOT NULL REFERENCES roll,
    says    TEXT NOT NULL CHECK (says IN ('', 'thin', 'good', 'dense', 'uneven')),
    remark  TEXT NOT NULL,
    wall_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX verdict_of ON verdict (roll, verdict);

-- What happened, as the engine took it: folded over the plan it gives the run again. A moment is
-- kept as run time and as the machine knew it.
CREATE TABLE journal (
    run       INTEGER NOT NULL REFERENCES run,
    sequence  INTEGER NOT NULL CHECK (sequence >= 1),
    kind      TEXT NOT NULL,
    at_ms     INTEGER NOT NULL,
    of        INTEGER NOT NULL,
    cause     INTEGER NOT NULL,
    bath      INTEGER NOT NULL,
    value_ms  INTEGER NOT NULL,
    value_c   REAL,
    estimated INTEGER NOT NULL CHECK (estimated IN (0, 1)),
    boot      BLOB NOT NULL CHECK (length(boot) = 16),
    boot_ns   INTEGER NOT NULL,
    wall_ns   INTEGER NOT NULL,
    epoch     INTEGER NOT NULL CHECK (epoch >= 1),
    PRIMARY KEY (run, sequence)
) STRICT, WITHOUT ROWID;

-- The words a roll is found by. Its rowid is roll.listed, so that walking it backwards is the order
-- of the list and a page of a common word needs no sort.
CREATE VIRTUAL TABLE roll_word USING fts5 (words, prefix = '1 2 3', tokenize = 'unicode61 remove_diacritics 2');
