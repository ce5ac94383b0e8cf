-- Published editions that were withdrawn. An edition itself never changes; one with a row here is never in force.
CREATE TABLE menu_withdrawal (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    revision_id TEXT NOT NULL,
    at BIGINT NOT NULL,
    person_id TEXT,
    reason TEXT CHECK (reason <> ''),
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, revision_id),
    FOREIGN KEY (shop_id, revision_id) REFERENCES menu_revision (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
);
