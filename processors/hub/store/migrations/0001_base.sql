-- What the pipeline writes. Every table is a ReplacingMergeTree: a row is
-- computed again whole when something about it changes, and the highest version
-- counts. Ask with FINAL, or through the views of 0002.
--
-- Codecs: times and sequences step evenly (DoubleDelta, Delta); measured values
-- carry noise in their last digits, so ZSTD alone does best on them.

-- One row for each entry of each journal, sorted as the journals number them,
-- so that counting what is stored reads one column of one key range, and a
-- trial's shots stand together. effective never changes for an entry, so all
-- versions of a row share a partition.
CREATE TABLE IF NOT EXISTS entries
(
    studio            LowCardinality(String),
    bay               LowCardinality(String),
    journal           LowCardinality(String),
    seq               UInt64 CODEC(Delta, ZSTD(1)),
    shot_id           UUID CODEC(ZSTD(1)),
    version           UInt64 CODEC(Delta, ZSTD(1)),
    inserted          DateTime64(3, 'UTC') DEFAULT now64(3) CODEC(DoubleDelta, ZSTD(1)),

    -- what the device said
    device            LowCardinality(String),
    device_shot_id    String CODEC(ZSTD(1)),
    role              LowCardinality(String),
    feed              LowCardinality(String),
    file              LowCardinality(String),
    line              UInt64 CODEC(Delta, ZSTD(1)),
    device_time       DateTime64(9, 'UTC') CODEC(DoubleDelta, ZSTD(1)),
    received          DateTime64(9, 'UTC') CODEC(DoubleDelta, ZSTD(1)),
    effective         DateTime64(9, 'UTC') CODEC(DoubleDelta, ZSTD(1)),
    certainty         LowCardinality(String),
    content           UInt64 CODEC(ZSTD(1)),
    revision          UInt32 CODEC(ZSTD(1)),
    deleted           Bool,
    faults            String CODEC(ZSTD(3)),
    firmware          LowCardinality(String),
    device_club       LowCardinality(String),
    entry             String CODEC(ZSTD(3)),

    -- whose it is: computed from the visit events
    status            LowCardinality(String),
    reason            String CODEC(ZSTD(1)),
    visit             LowCardinality(String),
    session           LowCardinality(String),
    trial             LowCardinality(String),
    trial_number      UInt16 CODEC(ZSTD(1)),
    part              UInt16 CODEC(ZSTD(1)),
    moved             Bool,
    build             LowCardinality(String),
    player            LowCardinality(String),
    fitter            LowCardinality(String),
    hitter            LowCardinality(String),
    hitter_kind       LowCardinality(String),
    hand              LowCardinality(String),
    category          LowCardinality(String),
    class             LowCardinality(String),
    class_length_m    Float64 CODEC(ZSTD(1)),
    intent            LowCardinality(String),
    instruction       LowCardinality(String),
    instructions      UInt16 CODEC(ZSTD(1)),
    setting           LowCardinality(String),
    place             LowCardinality(String),
    surface           LowCardinality(String),
    ball_model        LowCardinality(String),
    ball_class        LowCardinality(String),
    at                DateTime64(9, 'UTC') CODEC(DoubleDelta, ZSTD(1)),
    order_trial       UInt32 CODEC(ZSTD(1)),
    order_session     UInt32 CODEC(ZSTD(1)),
    swap              UInt32 CODEC(ZSTD(1)),
    paired_with       UUID CODEC(ZSTD(1)),
    consent           Bool,
    minor             Bool,

    -- what was measured: SI, degrees and rpm; directions positive right of target
    clubhead_speed_mps       Nullable(Float64) CODEC(ZSTD(1)),
    ball_speed_mps           Nullable(Float64) CODEC(ZSTD(1)),
    smash_factor             Nullable(Float64) CODEC(ZSTD(1)),
    attack_angle_deg         Nullable(Float64) CODEC(ZSTD(1)),
    club_path_deg            Nullable(Float64) CODEC(ZSTD(1)),
    face_angle_deg           Nullable(Float64) CODEC(ZSTD(1)),
    face_to_path_deg         Nullable(Float64) CODEC(ZSTD(1)),
    dynamic_loft_deg         Nullable(Float64) CODEC(ZSTD(1)),
    spin_loft_deg            Nullable(Float64) CODEC(ZSTD(1)),
    launch_angle_deg         Nullable(Float64) CODEC(ZSTD(1)),
    launch_direction_deg     Nullable(Float64) CODEC(ZSTD(1)),
    spin_rate_rpm            Nullable(Float64) CODEC(ZSTD(1)),
    spin_axis_deg            Nullable(Float64) CODEC(ZSTD(1)),
    back_spin_rpm            Nullable(Float64) CODEC(ZSTD(1)),
    side_spin_rpm            Nullable(Float64) CODEC(ZSTD(1)),
    carry_m                  Nullable(Float64) CODEC(ZSTD(1)),
    total_m                  Nullable(Float64) CODEC(ZSTD(1)),
    offline_m                Nullable(Float64) CODEC(ZSTD(1)),
    total_offline_m          Nullable(Float64) CODEC(ZSTD(1)),
    apex_m                   Nullable(Float64) CODEC(ZSTD(1)),
    landing_angle_deg        Nullable(Float64) CODEC(ZSTD(1)),
    landing_speed_mps        Nullable(Float64) CODEC(ZSTD(1)),
    hang_time_s              Nullable(Float64) CODEC(ZSTD(1)),
    strike_x_m               Nullable(Float64) CODEC(ZSTD(1)),
    strike_y_m               Nullable(Float64) CODEC(ZSTD(1)),
    dynamic_lie_deg          Nullable(Float64) CODEC(ZSTD(1)),
    closure_rate_rpm         Nullable(Float64) CODEC(ZSTD(1)),
    swing_direction_deg      Nullable(Float64) CODEC(ZSTD(1)),
    swing_plane_deg          Nullable(Float64) CODEC(ZSTD(1)),
    low_point_m              Nullable(Float64) CODEC(ZSTD(1)),
    backswing_time_s         Nullable(Float64) CODEC(ZSTD(1)),
    downswing_time_s         Nullable(Float64) CODEC(ZSTD(1)),
    tempo                    Nullable(Float64) CODEC(ZSTD(1)),
    skid_distance_m          Nullable(Float64) CODEC(ZSTD(1)),
    forward_roll_rpm         Nullable(Float64) CODEC(ZSTD(1)),
    roll_speed_mps           Nullable(Float64) CODEC(ZSTD(1)),
    putt_distance_m          Nullable(Float64) CODEC(ZSTD(1)),
    stroke_length_m          Nullable(Float64) CODEC(ZSTD(1)),
    stroke_rotation_deg      Nullable(Float64) CODEC(ZSTD(1)),
    stroke_arc_deg           Nullable(Float64) CODEC(ZSTD(1)),
    air_temperature_degc     Nullable(Float64) CODEC(ZSTD(1)),
    air_pressure_pa          Nullable(Float64) CODEC(ZSTD(1)),
    air_humidity             Nullable(Float64) CODEC(ZSTD(1)),
    -- origin of the values above, one bit a field number of the contract
    measured          UInt64 CODEC(ZSTD(1)),
    device_computed   UInt64 CODEC(ZSTD(1)),
    air_adjusted      UInt64 CODEC(ZSTD(1)),
    air_as_flown      UInt64 CODEC(ZSTD(1)),

    -- what we computed from them, never mixed with what was measured
    direction_deg            Nullable(Float64) CODEC(ZSTD(1)),
    our_carry_m              Nullable(Float64) CODEC(ZSTD(1)),
    our_offline_m            Nullable(Float64) CODEC(ZSTD(1)),
    our_apex_m               Nullable(Float64) CODEC(ZSTD(1)),
    our_landing_angle_deg    Nullable(Float64) CODEC(ZSTD(1)),
    standard_air_carry_m     Nullable(Float64) CODEC(ZSTD(1)),

    INDEX by_shot shot_id TYPE bloom_filter(0.01) GRANULARITY 4,
    INDEX by_effective effective TYPE minmax GRANULARITY 1,
    INDEX by_session session TYPE bloom_filter(0.01) GRANULARITY 4,
    INDEX by_player player TYPE bloom_filter(0.01) GRANULARITY 4
)
ENGINE = ReplacingMergeTree(version)
PARTITION BY toYear(effective)
ORDER BY (studio, bay, journal, seq, shot_id)
SETTINGS index_granularity = 8192;

-- One row for each trial and part (an instruction splits a trial), computed
-- again from its shots at each change. n = 0: nothing is left of it.
CREATE TABLE IF NOT EXISTS trials
(
    studio            LowCardinality(String),
    bay               LowCardinality(String),
    session           String CODEC(ZSTD(1)),
    trial             String CODEC(ZSTD(1)),
    part              UInt16 CODEC(ZSTD(1)),
    version           UInt64 CODEC(Delta, ZSTD(1)),
    inserted          DateTime64(3, 'UTC') DEFAULT now64(3) CODEC(DoubleDelta, ZSTD(1)),

    visit             String CODEC(ZSTD(1)),
    player            String CODEC(ZSTD(1)),
    fitter            LowCardinality(String),
    hand              LowCardinality(String),
    category          LowCardinality(String),
    consent           Bool,
    minor             Bool,
    class             LowCardinality(String),
    class_length_m    Float64 CODEC(ZSTD(1)),
    intent            LowCardinality(String),

    build             LowCardinality(String),
    build_name        LowCardinality(String),
    gamer             Bool,
    build_head_model             LowCardinality(String),
    build_stated_loft_deg        Nullable(Float64),
    build_loft_deg               Nullable(Float64),
    build_lie_deg                Nullable(Float64),
    build_face_angle_deg         Nullable(Float64),
    build_bounce_deg             Nullable(Float64),
    build_sole                   LowCardinality(String),
    build_head_weight_kg         Nullable(Float64),
    build_movable_weights        LowCardinality(String),
    build_hosel_setting          LowCardinality(String),
    build_shaft_model            LowCardinality(String),
    build_shaft_material         LowCardinality(String),
    build_shaft_weight_kg        Nullable(Float64),
    build_flex                   LowCardinality(String),
    build_torque_deg             Nullable(Float64),
    build_balance_point_m        Nullable(Float64),
    build_frequency_cpm          Nullable(Float64),
    build_tip_trim_m             Nullable(Float64),
    build_butt_trim_m            Nullable(Float64),
    build_length_m               Nullable(Float64),
    build_length_method          LowCardinality(String),
    build_grip_model             LowCardinality(String),
    build_grip_size_m            Nullable(Float64),
    build_grip_weight_kg         Nullable(Float64),
    build_grip_wraps             Nullable(Float64),
    build_swing_weight_kgm       Nullable(Float64),
    build_total_weight_kg        Nullable(Float64),
    build_finish                 LowCardinality(String),
    build_face_wear              LowCardinality(String),
    build_toe_hang_deg           Nullable(Float64),
    build_putter_hosel           LowCardinality(String),
    build_alignment              LowCardinality(String),
    build_grip_form              LowCardinality(String),
    -- what must be equal for two trials to be compared
    device            LowCardinality(String),
    firmware          LowCardinality(String),
    place             LowCardinality(String),
    surface           LowCardinality(String),
    ball_model        LowCardinality(String),
    ball_class        LowCardinality(String),
    setting           LowCardinality(String),
    instruction       String CODEC(ZSTD(1)),
    instruction_kind  LowCardinality(String),
    -- which run of comparable trials within its session: it rises where ball,
    -- surface, device or setting changed, and where an instruction was given and
    -- the incumbent was not hit again
    level             UInt16 CODEC(ZSTD(1)),

    order_session     UInt16 CODEC(ZSTD(1)),
    first_shot_order  UInt32 CODEC(ZSTD(1)),
    first_shot        DateTime64(9, 'UTC') CODEC(DoubleDelta, ZSTD(1)),
    last_shot         DateTime64(9, 'UTC') CODEC(DoubleDelta, ZSTD(1)),

    n                 UInt32 CODEC(ZSTD(1)),
    n_excluded        UInt32 CODEC(ZSTD(1)),
    n_set_aside       UInt32 CODEC(ZSTD(1)),

    -- carry and offline together: mean and scatter matrix
    n_landing         UInt32 CODEC(ZSTD(1)),
    n_directed        UInt32 CODEC(ZSTD(1)),
    carry_mean_m      Float64 CODEC(ZSTD(1)),
    offline_mean_m    Float64 CODEC(ZSTD(1)),
    scatter_cc_m2     Float64 CODEC(ZSTD(1)),
    scatter_co_m2     Float64 CODEC(ZSTD(1)),
    scatter_oo_m2     Float64 CODEC(ZSTD(1)),
    direction_mean_deg Float64 CODEC(ZSTD(1)),
    direction_ss_deg2 Float64 CODEC(ZSTD(1)),
    direction_s4_deg4 Float64 CODEC(ZSTD(1)),
    carry_s4_m4       Float64 CODEC(ZSTD(1)),

    -- every measured field: number in the contract, n, mean, sum of squares about it
    fields Nested
    (
        field UInt8,
        n     UInt32,
        mean  Float64,
        ss    Float64
    )
)
ENGINE = ReplacingMergeTree(version)
PARTITION BY tuple()
ORDER BY (studio, bay, session, trial, part);

-- Every visit event as it was written, for audits and for what has no column.
CREATE TABLE IF NOT EXISTS visit_events
(
    studio    LowCardinality(String),
    bay       LowCardinality(String),
    id        String,
    journal   LowCardinality(String),
    seq       UInt64,
    who       LowCardinality(String),
    effective DateTime64(9, 'UTC'),
    recorded  DateTime64(9, 'UTC'),
    visit     String,
    session   String,
    kind      LowCardinality(String),
    body      String CODEC(ZSTD(3)),
    event     String CODEC(ZSTD(3)),
    inserted  DateTime64(3, 'UTC') DEFAULT now64(3)
)
ENGINE = ReplacingMergeTree
ORDER BY (studio, bay, id);

-- Verdicts with what they promised, and hit checks with what came of it.
CREATE TABLE IF NOT EXISTS verdicts
(
    studio      LowCardinality(String),
    bay         LowCardinality(String),
    id          String,
    version     UInt64,
    visit       String,
    session     String,
    player      String,
    category    LowCardinality(String),
    kind        LowCardinality(String),
    trial       String,
    baseline    String,
    build       LowCardinality(String),
    words       String CODEC(ZSTD(1)),
    at          DateTime64(9, 'UTC'),
    promised Nested
    (
        outcome            LowCardinality(String),
        change             Float64,
        low                Float64,
        high               Float64,
        probability_better Float64
    ),
    checked     Bool,
    check_trial String,
    live        Bool
)
ENGINE = ReplacingMergeTree(version)
ORDER BY (studio, bay, id);

-- Journals closed by hand: nothing below is waited for any more.
CREATE TABLE IF NOT EXISTS floors
(
    studio  LowCardinality(String),
    bay     LowCardinality(String),
    journal LowCardinality(String),
    below   UInt64,
    why     String,
    who     String,
    at      DateTime64(3, 'UTC') DEFAULT now64(3)
)
ENGINE = ReplacingMergeTree(at)
ORDER BY (studio, bay, journal);
