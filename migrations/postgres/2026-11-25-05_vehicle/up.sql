CREATE TABLE vehicle (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    registration TEXT,
    registration_key TEXT CHECK (registration_key <> ''),
    country TEXT CHECK (length(country) = 2),
    vin TEXT CHECK (length(vin) = 17),
    market TEXT NOT NULL CHECK (market IN ('NORTH_AMERICA', 'ELSEWHERE')),
    make TEXT NOT NULL,
    model TEXT NOT NULL,
    year INTEGER CHECK (year BETWEEN 1880 AND 2199),
    colour TEXT,
    size_class TEXT NOT NULL CHECK (size_class IN ('SMALL', 'MEDIUM', 'LARGE', 'EXTRA_LARGE')),
    paint_type TEXT NOT NULL
        CHECK (paint_type IN ('SOLID', 'METALLIC', 'PEARL', 'MATTE', 'WRAP', 'SINGLE_STAGE', 'UNKNOWN')),
    powertrain TEXT NOT NULL CHECK (powertrain IN ('COMBUSTION', 'HYBRID', 'ELECTRIC', 'UNKNOWN')),
    odometer_unit TEXT NOT NULL CHECK (odometer_unit IN ('KM', 'MI')),
    notes TEXT NOT NULL,
    version BIGINT NOT NULL,
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    CHECK ((registration IS NULL) = (registration_key IS NULL))
);

CREATE INDEX vehicle_by_customer ON vehicle (shop_id, customer_id, id);
CREATE INDEX vehicle_by_registration ON vehicle (shop_id, registration_key);
