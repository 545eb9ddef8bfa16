package answers

import (
	"context"
	"errors"
	"fmt"
)

// put inserts rows by a statement of package question: all of them or none. what names
// them in errors. (A batch keeps milliseconds, which a bound time would lose.)
func (f *Fleet) put(ctx context.Context, what, statement string, rows ...[]any) error {
	if len(rows) == 0 {
		return nil
	}
	batch, err := f.store.Conn().PrepareBatch(ctx, statement)
	if err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	for _, row := range rows {
		if err := batch.Append(row...); err != nil {
			return fmt.Errorf("%s: %w", what, errors.Join(err, batch.Abort()))
		}
	}
	if err := batch.Send(); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}
