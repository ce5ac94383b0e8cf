CREATE TABLE search_subject (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    kind TEXT NOT NULL,
    title TEXT NOT NULL,
    detail TEXT NOT NULL,
    UNIQUE (shop_id, id)
) STRICT;

-- Words compare by their code points, so that a prefix is one range of the key.
CREATE TABLE search_word (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    word TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    PRIMARY KEY (shop_id, word, subject_id),
    FOREIGN KEY (shop_id, subject_id) REFERENCES search_subject (shop_id, id)
) STRICT;

CREATE INDEX search_word_by_subject ON search_word (shop_id, subject_id);
