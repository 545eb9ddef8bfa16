-- What questions across players read and leave behind. A snapshot is a copy of
-- the trial rows that count for them, sorted by player, with each player's
-- swing profile beside it: it is made in one go by processors/answers, so that a
-- question reads players one after the other and every question of a night
-- sees the same data. Nothing here is a source: all of it can be made again
-- from trials and verdicts.

-- One player's trials stand far apart in trials; this finds them.
ALTER TABLE trials ADD INDEX IF NOT EXISTS by_player player TYPE bloom_filter(0.01) GRANULARITY 4;

-- One row for each finished snapshot: what it was made from. mark_ columns are
-- the high-water mark of trials when it was begun.
CREATE TABLE IF NOT EXISTS fleet_snapshots
(
    snapshot      UInt64,
    made          DateTime64(3, 'UTC') DEFAULT now64(3),
    seconds       Float64,
    mark_inserted DateTime64(3, 'UTC'),
    mark_version  UInt64,
    trials        UInt64,
    shots         UInt64,
    players       UInt64,
    profiles      UInt64
)
ENGINE = ReplacingMergeTree
ORDER BY snapshot;

-- The swing of a player with one kind of club, handed, adjusted to the
-- category's reference build: from the first trial of five shots or more that
-- the player hit with their own club. That trial describes and is never judged
-- (fleet_trials.describes), so that no shot stands on both sides of an effect.
-- Unknown is NULL.
CREATE TABLE IF NOT EXISTS profiles
(
    snapshot          UInt64,
    player            String CODEC(ZSTD(1)),
    category          LowCardinality(String),
    studio            LowCardinality(String),
    bay               LowCardinality(String),
    session           String CODEC(ZSTD(1)),
    trial             String CODEC(ZSTD(1)),
    part              UInt16,
    measured          DateTime64(3, 'UTC'),
    shots             UInt32,
    hand              LowCardinality(String),
    speed_mps         Nullable(Float64) CODEC(ZSTD(1)),
    attack_deg        Nullable(Float64) CODEC(ZSTD(1)),
    path_deg          Nullable(Float64) CODEC(ZSTD(1)),
    face_to_path_deg  Nullable(Float64) CODEC(ZSTD(1)),
    dynamic_loft_deg  Nullable(Float64) CODEC(ZSTD(1)),
    strike_x_m        Nullable(Float64) CODEC(ZSTD(1)),
    strike_y_m        Nullable(Float64) CODEC(ZSTD(1)),
    strike_scatter_ln Nullable(Float64) CODEC(ZSTD(1)),
    tempo_ratio       Nullable(Float64) CODEC(ZSTD(1))
)
ENGINE = MergeTree
PARTITION BY snapshot
ORDER BY (player, category);

-- The rows of a snapshot: trials of players who consented, adults only, with at
-- least one shot that counts. Unknown attributes and traits are NaN, as models
-- take them.
CREATE TABLE IF NOT EXISTS fleet_trials
(
    snapshot          UInt64,
    player            String CODEC(ZSTD(1)),
    category          LowCardinality(String),
    session           String CODEC(ZSTD(1)),
    number            UInt16 CODEC(ZSTD(1)),
    part              UInt16 CODEC(ZSTD(1)),
    trial             String CODEC(ZSTD(1)),
    studio            LowCardinality(String),
    bay               LowCardinality(String),
    device            LowCardinality(String),
    fitter            LowCardinality(String),
    build             LowCardinality(String),
    build_name        LowCardinality(String),
    ball              LowCardinality(String),
    surface           LowCardinality(String),
    instruction       LowCardinality(String),
    gamer             Bool,
    left_handed       Bool,
    describes         Bool,
    level             UInt16 CODEC(ZSTD(1)),
    first_order       UInt32 CODEC(ZSTD(1)),
    at                DateTime64(3, 'UTC') CODEC(ZSTD(1)),

    length            Float64 CODEC(ZSTD(1)),
    loft              Float64 CODEC(ZSTD(1)),
    lie               Float64 CODEC(ZSTD(1)),
    shaft_weight      Float64 CODEC(ZSTD(1)),
    flex              Float64 CODEC(ZSTD(1)),
    torque            Float64 CODEC(ZSTD(1)),
    head_weight       Float64 CODEC(ZSTD(1)),
    swing_weight      Float64 CODEC(ZSTD(1)),

    n                 UInt32 CODEC(ZSTD(1)),
    n_excluded        UInt32 CODEC(ZSTD(1)),
    n_landing         UInt32 CODEC(ZSTD(1)),
    carry_m           Float64 CODEC(ZSTD(1)),
    carry_ss          Float64 CODEC(ZSTD(1)),
    carry_s4          Float64 CODEC(ZSTD(1)),
    carry_offline     Float64 CODEC(ZSTD(1)),
    offline_ss        Float64 CODEC(ZSTD(1)),
    n_directed        UInt32 CODEC(ZSTD(1)),
    direction_deg     Float64 CODEC(ZSTD(1)),
    direction_ss      Float64 CODEC(ZSTD(1)),
    direction_s4      Float64 CODEC(ZSTD(1)),
    -- of the shots with launch angle and spin: for the distance to the launch window
    launched          UInt32 CODEC(ZSTD(1)),
    ball_speed_mps    Float64 CODEC(ZSTD(1)),
    attack_now_deg    Float64 CODEC(ZSTD(1)),
    launch_deg        Float64 CODEC(ZSTD(1)),
    launch_ss         Float64 CODEC(ZSTD(1)),
    spin_rpm          Float64 CODEC(ZSTD(1)),
    spin_ss           Float64 CODEC(ZSTD(1)),

    speed_mps         Float64 CODEC(ZSTD(1)),
    attack_deg        Float64 CODEC(ZSTD(1)),
    path_deg          Float64 CODEC(ZSTD(1)),
    face_to_path_deg  Float64 CODEC(ZSTD(1)),
    dynamic_loft_deg  Float64 CODEC(ZSTD(1)),
    strike_x_m        Float64 CODEC(ZSTD(1)),
    strike_y_m        Float64 CODEC(ZSTD(1)),
    strike_scatter_ln Float64 CODEC(ZSTD(1)),
    tempo_ratio       Float64 CODEC(ZSTD(1))
)
ENGINE = MergeTree
PARTITION BY snapshot
ORDER BY (player, category, session, number, part);

-- The builds that a snapshot's players tried beside their own clubs.
CREATE TABLE IF NOT EXISTS fleet_builds
(
    snapshot     UInt64,
    category     LowCardinality(String),
    build        String,
    build_name   String,
    players      UInt64,
    trials       UInt64,
    length       Float64,
    loft         Float64,
    lie          Float64,
    shaft_weight Float64,
    flex         Float64,
    torque       Float64,
    head_weight  Float64,
    swing_weight Float64
)
ENGINE = MergeTree
PARTITION BY snapshot
ORDER BY (category, build);

-- A snapshot by studio, kind of club and day, for figures that are counted while
-- a page waits. Players and sessions are sketches, exact
-- up to some ten thousand and to about a percent beyond.
CREATE TABLE IF NOT EXISTS fleet_days
(
    snapshot     UInt64,
    category     LowCardinality(String),
    studio       LowCardinality(String),
    day          Date,
    trials       UInt64,
    shots        UInt64,
    excluded     UInt64,
    players      AggregateFunction(uniq, String),
    sessions     AggregateFunction(uniq, String),
    first        DateTime64(3, 'UTC'),
    last         DateTime64(3, 'UTC'),
    direction_ss Float64,
    direction_df UInt64,
    carry_sum    Float64,
    landings     UInt64
)
ENGINE = MergeTree
PARTITION BY snapshot
ORDER BY (category, studio, day);

-- What was answered, with everything needed to say it again: the question, the
-- model's version, what the data was, and the answer itself. id follows from
-- question, model and mark, so that asking the same of the same data is one row.
CREATE TABLE IF NOT EXISTS answers
(
    id            String,
    question      String,
    kind          LowCardinality(String),
    model         LowCardinality(String),
    category      LowCardinality(String),
    outcome       LowCardinality(String),
    label         String CODEC(ZSTD(1)),
    asked         DateTime64(3, 'UTC') DEFAULT now64(3),
    seconds       Float64,
    snapshot      UInt64,
    mark_inserted DateTime64(3, 'UTC'),
    mark_version  UInt64,
    trials        UInt64,
    players       UInt64,
    refused       String CODEC(ZSTD(1)),
    body          String CODEC(ZSTD(3))
)
ENGINE = ReplacingMergeTree(asked)
ORDER BY (question, id);
