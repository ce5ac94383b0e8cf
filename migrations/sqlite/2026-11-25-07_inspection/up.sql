CREATE TABLE inspection (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    vehicle_id TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('DRAFT', 'COMPLETED')),
    stage TEXT NOT NULL CHECK (stage IN ('BEFORE_WORK', 'AFTER_WASH', 'FINAL')),
    odometer INTEGER CHECK (odometer BETWEEN 0 AND 9999999),
    soil_grade INTEGER NOT NULL CHECK (soil_grade BETWEEN 0 AND 4),
    contamination_grade INTEGER NOT NULL CHECK (contamination_grade BETWEEN 0 AND 4),
    beyond_repair TEXT NOT NULL,
    note TEXT NOT NULL,
    condition_class TEXT CHECK (condition_class IN ('LIGHT', 'FAIR', 'HEAVY', 'SEVERE')),
    condition_reasons TEXT,
    condition_factor TEXT,
    paint_floor_um INTEGER,
    removal_budget_um INTEGER,
    refinish_above_um INTEGER,
    least_spots INTEGER,
    inspected_by TEXT,
    completed_at INTEGER,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, vehicle_id) REFERENCES vehicle (shop_id, id),
    FOREIGN KEY (shop_id, inspected_by) REFERENCES person (shop_id, id),
    CHECK ((state = 'COMPLETED') = (completed_at IS NOT NULL)),
    CHECK ((state = 'COMPLETED') = (condition_class IS NOT NULL AND condition_reasons IS NOT NULL
        AND condition_factor IS NOT NULL AND paint_floor_um IS NOT NULL AND removal_budget_um IS NOT NULL
        AND refinish_above_um IS NOT NULL AND least_spots IS NOT NULL))
) STRICT;

CREATE INDEX inspection_by_vehicle ON inspection (shop_id, vehicle_id, id);

CREATE TABLE finding (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    inspection_id TEXT NOT NULL,
    place INTEGER NOT NULL,
    panel TEXT NOT NULL CHECK (panel IN (
        'BONNET', 'ROOF', 'BOOT_LID', 'FRONT_BUMPER', 'REAR_BUMPER', 'FRONT_WING_LEFT', 'FRONT_WING_RIGHT',
        'FRONT_DOOR_LEFT', 'FRONT_DOOR_RIGHT', 'REAR_DOOR_LEFT', 'REAR_DOOR_RIGHT', 'REAR_QUARTER_LEFT',
        'REAR_QUARTER_RIGHT', 'SILL_LEFT', 'SILL_RIGHT', 'MIRRORS', 'GLASS', 'LAMPS', 'WHEELS', 'TRIM',
        'SEATS', 'CARPETS', 'DASHBOARD', 'HEADLINING', 'LUGGAGE_SPACE'
    )),
    kind TEXT NOT NULL CHECK (kind IN (
        'SWIRLS', 'SCRATCHES', 'DEEP_SCRATCHES', 'WATER_SPOTS', 'ETCHING', 'OXIDATION', 'DEPOSITS',
        'HOLOGRAMS', 'STAINS', 'HAIR', 'ODOUR', 'MOULD', 'FADED_TRIM', 'STONE_CHIP', 'DENT', 'RUST',
        'CRACK', 'KERB_DAMAGE', 'FAILING_CLEAR_COAT', 'LOOSE_OR_MISSING'
    )),
    severity TEXT NOT NULL CHECK (severity IN ('MINOR', 'MODERATE', 'SERIOUS')),
    note TEXT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, inspection_id, place),
    FOREIGN KEY (shop_id, inspection_id) REFERENCES inspection (shop_id, id)
) STRICT;

CREATE TABLE inspection_photo (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    inspection_id TEXT NOT NULL,
    finding_id TEXT,
    photo_id TEXT NOT NULL,
    place INTEGER NOT NULL,
    UNIQUE (shop_id, inspection_id, place),
    FOREIGN KEY (shop_id, inspection_id) REFERENCES inspection (shop_id, id),
    FOREIGN KEY (shop_id, finding_id) REFERENCES finding (shop_id, id),
    FOREIGN KEY (shop_id, photo_id) REFERENCES photo (shop_id, id)
) STRICT;

CREATE INDEX inspection_photo_by_photo ON inspection_photo (shop_id, photo_id);

CREATE TABLE paint_reading (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    inspection_id TEXT NOT NULL,
    panel TEXT NOT NULL,
    place INTEGER NOT NULL,
    micrometres INTEGER NOT NULL CHECK (micrometres BETWEEN 1 AND 5000),
    UNIQUE (shop_id, inspection_id, place),
    FOREIGN KEY (shop_id, inspection_id) REFERENCES inspection (shop_id, id)
) STRICT;

CREATE TABLE paint_decision (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    inspection_id TEXT NOT NULL,
    person_id TEXT NOT NULL,
    role TEXT NOT NULL CHECK (role = 'OWNER'),
    go_ahead INTEGER NOT NULL CHECK (go_ahead IN (0, 1)),
    reason TEXT NOT NULL CHECK (reason <> ''),
    created_at INTEGER NOT NULL,
    void_at INTEGER,
    FOREIGN KEY (shop_id, inspection_id) REFERENCES inspection (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id)
) STRICT;

-- At most one decision counts at a time.
CREATE UNIQUE INDEX paint_decision_standing ON paint_decision (shop_id, inspection_id) WHERE void_at IS NULL;
