-- That a customer agreed, after signing, to work within the 14 days in which they can withdraw.
CREATE TABLE early_start (
    signoff_id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    method TEXT NOT NULL CHECK (method IN ('LINK', 'PHONE', 'IN_PERSON')),
    noted_by TEXT,
    link_id TEXT,
    words TEXT NOT NULL,
    agreed_at BIGINT NOT NULL,
    FOREIGN KEY (shop_id, signoff_id) REFERENCES signoff (shop_id, id),
    FOREIGN KEY (shop_id, noted_by) REFERENCES person (shop_id, id),
    FOREIGN KEY (shop_id, link_id) REFERENCES link (shop_id, id),
    CHECK (noted_by IS NOT NULL OR link_id IS NOT NULL)
);

CREATE FUNCTION early_start_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'an agreement to an early start never changes and is never removed';
END
$$;

CREATE TRIGGER early_start_stays BEFORE UPDATE OR DELETE ON early_start
    FOR EACH ROW EXECUTE FUNCTION early_start_stays();
