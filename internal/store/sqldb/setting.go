package sqldb

import "context"

func (t *tx) Setting(ctx context.Context, name string) (string, error) {
	value, _, err := scalar[string](ctx, t, "SELECT value FROM setting WHERE name = $1", name)
	return value, err
}

func (t *tx) SetSetting(ctx context.Context, name, value string) error {
	if t.failed != nil {
		return t.failed
	}
	for _, s := range []string{name, value} {
		if _, err := bindText(s); err != nil {
			return t.fail(err)
		}
	}
	const text = "INSERT INTO setting (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value"
	if _, err := t.q.ExecContext(ctx, text, name, value); err != nil {
		return t.fault(ctx, err, "set setting %s", name)
	}
	return nil
}
