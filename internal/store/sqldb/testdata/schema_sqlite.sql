CREATE TABLE allotment (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    trial TEXT NOT NULL REFERENCES trial (id),
    batch TEXT REFERENCES batch (id),
    drawing TEXT NOT NULL,
    version INTEGER NOT NULL,
    seed TEXT NOT NULL,
    bound TEXT NOT NULL,
    design TEXT NOT NULL,
    made TEXT NOT NULL,
    succeeds TEXT REFERENCES allotment (id)
, stage TEXT NOT NULL DEFAULT 'made' CHECK (stage IN ('made', 'light'))) STRICT;
CREATE INDEX allotment_trial ON allotment (trial);
CREATE TABLE batch (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE CHECK (number >= 1),
    name TEXT NOT NULL,
    name_key TEXT UNIQUE,
    made TEXT NOT NULL,
    made_exact TEXT NOT NULL CHECK (made_exact IN ('', 'exact', 'day', 'unknown')),
    closing TEXT NOT NULL,
    trial TEXT REFERENCES trial (id),
    note TEXT NOT NULL
) STRICT;
CREATE TABLE batch_now (
    batch TEXT PRIMARY KEY REFERENCES batch (id),
    changes INTEGER NOT NULL
) STRICT;
CREATE INDEX batch_trial ON batch (trial);
CREATE TABLE calibration (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES calibration (id),
    withdrawn INTEGER NOT NULL,
    cook TEXT NOT NULL REFERENCES cook (id),
    container TEXT NOT NULL REFERENCES container (id),
    recipe TEXT NOT NULL REFERENCES recipe (id),
    fit TEXT NOT NULL
) STRICT;
CREATE INDEX calibration_deed ON calibration (deed);
CREATE TABLE container (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL,
    volume REAL NOT NULL CHECK (volume >= 0),
    bore REAL NOT NULL CHECK (bore >= 0),
    height REAL NOT NULL CHECK (height >= 0),
    note TEXT NOT NULL
) STRICT;
CREATE TABLE container_lid (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES container_lid (id),
    withdrawn INTEGER NOT NULL,
    container TEXT NOT NULL REFERENCES container (id),
    lid TEXT NOT NULL CHECK (lid IN ('vented', 'filter', 'foil', 'tight', 'open'))
) STRICT;
CREATE INDEX container_lid_deed ON container_lid (deed);
CREATE TABLE cook (
    id TEXT PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE CHECK (number >= 1),
    name TEXT NOT NULL,
    name_key TEXT UNIQUE,
    cooker TEXT NOT NULL,
    layers INTEGER NOT NULL CHECK (layers >= 0),
    hold REAL NOT NULL CHECK (hold >= 0),
    gauge TEXT NOT NULL,
    day TEXT NOT NULL,
    day_exact TEXT NOT NULL CHECK (day_exact IN ('', 'exact', 'day', 'unknown')),
    note TEXT NOT NULL
, altitude REAL) STRICT;
CREATE TABLE cook_item (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES cook_item (id),
    withdrawn INTEGER NOT NULL,
    cook TEXT NOT NULL REFERENCES cook (id),
    name TEXT NOT NULL,
    count INTEGER NOT NULL CHECK (count > 0),
    figures TEXT NOT NULL
) STRICT;
CREATE INDEX cook_item_cook ON cook_item (cook);
CREATE INDEX cook_item_deed ON cook_item (deed);
CREATE TABLE cook_mark (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES cook_mark (id),
    withdrawn INTEGER NOT NULL,
    cook TEXT NOT NULL REFERENCES cook (id),
    event TEXT NOT NULL CHECK (event IN ('', 'reached', 'lost', 'back', 'heat_off', 'opened'))
) STRICT;
CREATE INDEX cook_mark_cook ON cook_mark (cook);
CREATE INDEX cook_mark_deed ON cook_mark (deed);
CREATE TABLE cook_record (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES cook_record (id),
    withdrawn INTEGER NOT NULL,
    cook TEXT NOT NULL REFERENCES cook (id),
    place TEXT NOT NULL CHECK (place IN ('chamber', 'core')),
    file TEXT NOT NULL,
    original TEXT NOT NULL,
    shift_min REAL NOT NULL,
    readings TEXT NOT NULL,
    refused TEXT NOT NULL
) STRICT;
CREATE INDEX cook_record_cook ON cook_record (cook);
CREATE INDEX cook_record_deed ON cook_record (deed);
CREATE TABLE cook_step (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES cook_step (id),
    withdrawn INTEGER NOT NULL,
    cook TEXT NOT NULL REFERENCES cook (id),
    event TEXT NOT NULL CHECK (event IN ('fill', 'mass', 'lid', 'start', 'barometer', 'water', 'heat_on', 'vent', 'weight_on', 'gauge', 'reads', 'zero', 'water_left', 'heard')),
    typed TEXT NOT NULL,
    value REAL NOT NULL
) STRICT;
CREATE INDEX cook_step_cook ON cook_step (cook);
CREATE INDEX cook_step_deed ON cook_step (deed);
CREATE TABLE cooker (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES cooker (id),
    withdrawn INTEGER NOT NULL,
    name TEXT NOT NULL,
    figures TEXT NOT NULL
) STRICT;
CREATE INDEX cooker_deed ON cooker (deed);
CREATE TABLE culture (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    form TEXT NOT NULL,
    strain TEXT NOT NULL,
    species TEXT NOT NULL,
    parent TEXT REFERENCES culture (id),
    made TEXT NOT NULL,
    made_exact TEXT NOT NULL CHECK (made_exact IN ('', 'exact', 'day', 'unknown')),
    note TEXT NOT NULL
, medium TEXT REFERENCES recipe (id), jar TEXT REFERENCES jar (id), details TEXT NOT NULL DEFAULT '{}') STRICT;
CREATE TABLE culture_keeping (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES culture_keeping (id),
    withdrawn INTEGER NOT NULL,
    culture TEXT NOT NULL REFERENCES culture (id),
    kept TEXT NOT NULL CHECK (kept IN ('tested', 'stored', 'drawn', 'fruited', 'ended')),
    finding TEXT NOT NULL,
    storage TEXT NOT NULL,
    amount REAL NOT NULL CHECK (amount >= 0),
    note TEXT NOT NULL
) STRICT;
CREATE INDEX culture_keeping_deed ON culture_keeping (deed);
CREATE TABLE deed (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    what TEXT NOT NULL,
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    batch TEXT REFERENCES batch (id),
    undoes TEXT REFERENCES deed (id)
) STRICT;
CREATE INDEX deed_batch ON deed (batch);
CREATE INDEX deed_entered ON deed (entered);
CREATE INDEX deed_undoes ON deed (undoes);
CREATE TABLE device (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    secret_hash TEXT NOT NULL UNIQUE,
    person TEXT REFERENCES person (id),
    name TEXT NOT NULL,
    paired TEXT NOT NULL,
    used TEXT NOT NULL,
    until TEXT NOT NULL,
    turned_out TEXT NOT NULL
) STRICT;
CREATE TABLE file (
    name TEXT PRIMARY KEY,
    kept TEXT NOT NULL,
    content BLOB NOT NULL
) STRICT;
CREATE TABLE forecast (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    batch TEXT NOT NULL REFERENCES batch (id),
    stage TEXT NOT NULL,
    after_stage TEXT NOT NULL,
    since TEXT NOT NULL,
    made TEXT NOT NULL,
    passed REAL NOT NULL CHECK (passed >= 0),
    chances TEXT NOT NULL,
    book REAL NOT NULL CHECK (book >= 0),
    own REAL NOT NULL CHECK (own >= 0),
    batches INTEGER NOT NULL CHECK (batches >= 0),
    inputs TEXT NOT NULL,
    UNIQUE (batch, stage, after_stage)
) STRICT;
CREATE TABLE guest (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES guest (id),
    withdrawn INTEGER NOT NULL,
    name TEXT NOT NULL,
    origin TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('package', 'print')),
    question TEXT NOT NULL,
    sentence TEXT NOT NULL,
    made TEXT NOT NULL,
    version TEXT NOT NULL,
    hash TEXT NOT NULL,
    data_hash TEXT NOT NULL,
    jars INTEGER NOT NULL CHECK (jars >= 0),
    arms TEXT NOT NULL,
    contrasts TEXT NOT NULL
) STRICT;
CREATE INDEX guest_corrects ON guest (corrects);
CREATE INDEX guest_deed ON guest (deed);
CREATE TABLE ingredient (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    moisture REAL CHECK (moisture >= 0 AND moisture < 1),
    note TEXT NOT NULL
) STRICT;
CREATE TABLE ingredient_figures (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES ingredient_figures (id),
    withdrawn INTEGER NOT NULL,
    ingredient TEXT NOT NULL REFERENCES ingredient (id),
    figures TEXT NOT NULL
) STRICT;
CREATE INDEX ingredient_figures_deed ON ingredient_figures (deed);
CREATE TABLE ingredient_lot (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES ingredient_lot (id),
    withdrawn INTEGER NOT NULL,
    lot TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number >= 1),
    ingredient TEXT NOT NULL REFERENCES ingredient (id),
    supplier TEXT NOT NULL,
    supplier_code TEXT NOT NULL,
    best_before TEXT NOT NULL,
    moisture REAL CHECK (moisture >= 0 AND moisture < 1),
    cup REAL NOT NULL CHECK (cup >= 0),
    bought REAL NOT NULL CHECK (bought >= 0),
    bought_typed TEXT NOT NULL,
    price_typed TEXT NOT NULL,
    price_minor INTEGER NOT NULL CHECK (price_minor >= 0),
    price_currency TEXT NOT NULL,
    price_for REAL NOT NULL CHECK (price_for >= 0),
    note TEXT NOT NULL
) STRICT;
CREATE INDEX ingredient_lot_deed ON ingredient_lot (deed);
CREATE TABLE inoculation (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES inoculation (id),
    withdrawn INTEGER NOT NULL,
    jar TEXT NOT NULL REFERENCES jar (id),
    culture TEXT REFERENCES culture (id),
    means TEXT NOT NULL,
    amount TEXT NOT NULL,
    override_reason TEXT NOT NULL
) STRICT;
CREATE INDEX inoculation_corrects ON inoculation (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX inoculation_deed ON inoculation (deed);
CREATE INDEX inoculation_dose ON inoculation (culture, amount, withdrawn, id);
CREATE INDEX inoculation_jar ON inoculation (jar);
CREATE TABLE jar (
    id TEXT PRIMARY KEY,
    code TEXT NOT NULL UNIQUE,
    batch TEXT NOT NULL REFERENCES batch (id),
    number INTEGER NOT NULL CHECK (number >= 1),
    mark TEXT NOT NULL,
    blank INTEGER NOT NULL,
    arm TEXT NOT NULL,
    recipe TEXT REFERENCES recipe (id),
    container TEXT REFERENCES container (id),
    culture TEXT REFERENCES culture (id),
    UNIQUE (batch, number)
) STRICT;
CREATE TABLE jar_now (
    jar TEXT PRIMARY KEY REFERENCES jar (id),
    batch TEXT NOT NULL REFERENCES batch (id),
    blank INTEGER NOT NULL,
    cook TEXT REFERENCES cook (id),
    layer INTEGER NOT NULL CHECK (layer >= 0),
    shelf TEXT NOT NULL,
    mix_made TEXT NOT NULL,
    dry_grams REAL NOT NULL CHECK (dry_grams >= 0),
    filled TEXT NOT NULL,
    filled_exact TEXT NOT NULL CHECK (filled_exact IN ('', 'exact', 'day', 'unknown')),
    stage TEXT NOT NULL DEFAULT '',
    fate TEXT NOT NULL DEFAULT '' CHECK (fate IN ('', 'growing', 'picked', 'barren', 'lost', 'spent')),
    reason TEXT NOT NULL DEFAULT '',
    grams REAL NOT NULL DEFAULT 0 CHECK (grams >= 0),
    picks INTEGER NOT NULL DEFAULT 0 CHECK (picks >= 0),
    inoculated TEXT NOT NULL DEFAULT '',
    inoculated_exact TEXT NOT NULL DEFAULT '' CHECK (inoculated_exact IN ('', 'exact', 'day', 'unknown')),
    carries TEXT REFERENCES culture (id),
    last_seen TEXT NOT NULL DEFAULT '',
    last_seen_exact TEXT NOT NULL DEFAULT '' CHECK (last_seen_exact IN ('', 'exact', 'day', 'unknown')),
    fate_at TEXT NOT NULL DEFAULT '',
    fate_at_exact TEXT NOT NULL DEFAULT '' CHECK (fate_at_exact IN ('', 'exact', 'day', 'unknown'))
, differs INTEGER NOT NULL DEFAULT FALSE, sights TEXT NOT NULL DEFAULT '') STRICT;
CREATE INDEX jar_now_carries ON jar_now (carries, fate, reason, grams, fate_at);
CREATE INDEX jar_now_cook ON jar_now (cook, batch, blank);
CREATE INDEX jar_now_differs ON jar_now (batch) WHERE differs;
CREATE INDEX jar_now_open ON jar_now (batch, shelf) WHERE blank = FALSE AND fate IN ('', 'growing');
CREATE INDEX jar_now_open_shelf ON jar_now (shelf) WHERE blank = FALSE AND fate IN ('', 'growing');
CREATE INDEX jar_now_shelf ON jar_now (shelf, fate);
CREATE INDEX jar_now_tally ON jar_now (batch, blank, fate, stage, inoculated_exact, grams, dry_grams);
CREATE TABLE making (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES making (id),
    withdrawn INTEGER NOT NULL,
    batch TEXT NOT NULL REFERENCES batch (id),
    recipe TEXT REFERENCES recipe (id),
    mix TEXT NOT NULL,
    label TEXT NOT NULL,
    weighed TEXT NOT NULL
) STRICT;
CREATE INDEX making_batch ON making (batch);
CREATE INDEX making_corrects ON making (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX making_deed ON making (deed);
CREATE TABLE making_lot (
    id TEXT PRIMARY KEY,
    making TEXT NOT NULL REFERENCES making (id),
    lot TEXT NOT NULL,
    grams REAL NOT NULL CHECK (grams >= 0)
) STRICT;
CREATE INDEX making_lot_lot ON making_lot (lot);
CREATE INDEX making_lot_making ON making_lot (making);
CREATE TABLE pairing (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    code_hash TEXT NOT NULL UNIQUE,
    person TEXT NOT NULL REFERENCES person (id),
    until TEXT NOT NULL,
    used TEXT NOT NULL
) STRICT;
CREATE TABLE person (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    initials TEXT NOT NULL UNIQUE,
    role TEXT NOT NULL CHECK (role IN ('owner', 'hand', 'viewer')),
    since TEXT NOT NULL,
    gone TEXT NOT NULL
) STRICT;
CREATE TABLE photo (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES photo (id),
    withdrawn INTEGER NOT NULL,
    jar TEXT NOT NULL REFERENCES jar (id),
    whole TEXT NOT NULL,
    middle TEXT NOT NULL,
    small TEXT NOT NULL,
    width INTEGER NOT NULL CHECK (width > 0),
    height INTEGER NOT NULL CHECK (height > 0),
    taken TEXT NOT NULL,
    note TEXT NOT NULL,
    erased INTEGER NOT NULL
) STRICT;
CREATE INDEX photo_corrects ON photo (corrects);
CREATE INDEX photo_deed ON photo (deed);
CREATE INDEX photo_jar ON photo (jar, happened);
CREATE INDEX photo_whole ON photo (whole);
CREATE TABLE pick (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES pick (id),
    withdrawn INTEGER NOT NULL,
    jar TEXT NOT NULL REFERENCES jar (id),
    flush INTEGER NOT NULL,
    grams REAL NOT NULL CHECK (grams >= 0),
    typed TEXT NOT NULL
) STRICT;
CREATE INDEX pick_corrects ON pick (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX pick_deed ON pick (deed);
CREATE INDEX pick_jar ON pick (jar);
CREATE TABLE recipe (
    id TEXT PRIMARY KEY,
    line TEXT NOT NULL,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    mixes TEXT NOT NULL,
    fills TEXT NOT NULL,
    made TEXT NOT NULL,
    note TEXT NOT NULL, details TEXT NOT NULL DEFAULT '{}',
    UNIQUE (line, version),
    FOREIGN KEY (name_key, line) REFERENCES recipe_name (name_key, line)
) STRICT;
CREATE TABLE recipe_name (
    name_key TEXT PRIMARY KEY,
    line TEXT NOT NULL,
    UNIQUE (name_key, line)
) STRICT;
CREATE TABLE seen (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    deed TEXT NOT NULL REFERENCES deed (id),
    happened TEXT NOT NULL,
    happened_exact TEXT NOT NULL CHECK (happened_exact IN ('', 'exact', 'day', 'unknown')),
    entered TEXT NOT NULL,
    entered_by TEXT NOT NULL,
    corrects TEXT REFERENCES seen (id),
    withdrawn INTEGER NOT NULL,
    jar TEXT NOT NULL REFERENCES jar (id),
    stage TEXT NOT NULL,
    sign TEXT NOT NULL,
    fate TEXT NOT NULL CHECK (fate IN ('', 'growing', 'picked', 'barren', 'lost', 'spent')),
    reason TEXT NOT NULL,
    note TEXT NOT NULL
, counted INTEGER NOT NULL DEFAULT 0 CHECK (counted >= 0), covered INTEGER NOT NULL DEFAULT 0 CHECK (covered >= 0 AND covered <= 100)) STRICT;
CREATE INDEX seen_corrects ON seen (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX seen_deed ON seen (deed);
CREATE INDEX seen_jar ON seen (jar);
CREATE INDEX seen_note ON seen (note, jar) WHERE note <> '';
CREATE TABLE setting (
    name TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;
CREATE TABLE trial (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    question TEXT NOT NULL,
    differ TEXT NOT NULL,
    arms TEXT NOT NULL,
    control TEXT NOT NULL,
    matters REAL NOT NULL,
    primary_outcome TEXT NOT NULL,
    closing TEXT NOT NULL,
    planned TEXT NOT NULL,
    imported INTEGER NOT NULL
, details TEXT NOT NULL DEFAULT '{}') STRICT;
CREATE TABLE trial_analysis (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    trial TEXT NOT NULL REFERENCES trial (id),
    made TEXT NOT NULL,
    made_by TEXT NOT NULL,
    version TEXT NOT NULL,
    seed TEXT NOT NULL,
    data_hash TEXT NOT NULL,
    data TEXT NOT NULL,
    result TEXT NOT NULL,
    succeeds TEXT REFERENCES trial_analysis (id)
) STRICT;
CREATE INDEX trial_analysis_trial ON trial_analysis (trial);
CREATE TABLE trial_opening (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    trial TEXT NOT NULL UNIQUE REFERENCES trial (id),
    deed TEXT NOT NULL REFERENCES deed (id),
    opened TEXT NOT NULL,
    opened_by TEXT NOT NULL
) STRICT;
