-- What happened, in order. Rows are only added.
CREATE TABLE event (
    number     INTEGER PRIMARY KEY,  -- from 1, without holes
    at_us      INTEGER NOT NULL,     -- microseconds since the Unix epoch
    job        INTEGER,              -- none: a loose entry
    kind       TEXT    NOT NULL,
    version    INTEGER NOT NULL,     -- of the payload of this kind
    payload    TEXT    NOT NULL,     -- JSON, octet for octet as hashed
    serial     TEXT,                 -- readings only, from here ...
    epoch      INTEGER,
    sequence   INTEGER,
    connection INTEGER,
    arrival    INTEGER,              -- ... to here: copies of the payload's key, for the indexes
    raw        BLOB,                 -- the octets it came from
    digests    TEXT    NOT NULL,     -- JSON: [[field, salted SHA-256 in hexadecimal], ...]
    prev       BLOB    NOT NULL CHECK (length(prev) = 32),
    hash       BLOB    NOT NULL CHECK (length(hash) = 32),
    CHECK ((epoch IS NULL) = (sequence IS NULL)),
    CHECK ((connection IS NULL) = (arrival IS NULL)),
    CHECK ((serial IS NOT NULL) = ((sequence IS NOT NULL) + (arrival IS NOT NULL) = 1))
) STRICT;

CREATE UNIQUE INDEX event_by_sequence ON event (serial, epoch, sequence) WHERE sequence IS NOT NULL;
CREATE UNIQUE INDEX event_by_arrival ON event (serial, connection, arrival) WHERE arrival IS NOT NULL;
CREATE INDEX event_by_job ON event (job, number);
CREATE INDEX event_by_kind ON event (kind, job);

-- Text about people and their vehicles, beside the chain. Erasing a row leaves the chain whole.
CREATE TABLE personal (
    event INTEGER NOT NULL REFERENCES event (number),
    place INTEGER NOT NULL,          -- index into event.digests, from 0
    field TEXT    NOT NULL,
    salt  BLOB    NOT NULL CHECK (length(salt) = 32),
    text  TEXT    NOT NULL,
    PRIMARY KEY (event, place)
) STRICT, WITHOUT ROWID;

-- Against accidents, not against intent: the hash chain is what shows an edit.
CREATE TRIGGER event_in_order BEFORE INSERT ON event
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM event)
BEGIN SELECT RAISE(ABORT, 'an entry takes the next number'); END;

CREATE TRIGGER event_not_changed BEFORE UPDATE ON event
BEGIN SELECT RAISE(ABORT, 'an entry is never changed'); END;

CREATE TRIGGER event_not_deleted BEFORE DELETE ON event
BEGIN SELECT RAISE(ABORT, 'an entry is never deleted'); END;

CREATE TRIGGER personal_not_changed BEFORE UPDATE ON personal
BEGIN SELECT RAISE(ABORT, 'a text is erased or kept, never changed'); END;
