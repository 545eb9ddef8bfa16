package durable

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
)

// WriteJSON puts a value in the place of a file that its owner alone reads, as
// WriteFile does.
func WriteJSON(path string, v any) error {
	text, err := lines(v)
	if err != nil {
		return err
	}
	return WriteFile(path, text, 0o600)
}

func lines(v any) ([]byte, error) {
	text, err := json.MarshalIndent(v, "", "  ")
	return append(text, '\n'), err
}

// ReadJSON reads what WriteJSON wrote; a file that is not there is the zero
// value. With an error the zero value comes too: half a file says nothing.
func ReadJSON[T any](path string) (v T, err error) {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return v, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &v)
	}
	if err != nil {
		var none T
		return none, err
	}
	return v, nil
}
