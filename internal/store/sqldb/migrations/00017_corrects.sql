-- What was corrected since is found by an index, as for what was seen: without
-- it, doses of cultures were counted by comparing every inoculation with every
-- other. Doses are counted from an index alone.

-- +goose Up
CREATE INDEX inoculation_corrects ON inoculation (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX inoculation_dose ON inoculation (culture, amount, withdrawn, id);
CREATE INDEX making_corrects ON making (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX pick_corrects ON pick (corrects) WHERE corrects IS NOT NULL;
