package store

import (
	"fmt"
	"io"
)

// WriteSchema writes the schema as statements, in the order of their steps: for
// one server, or for a cluster, with replicated tables.
func WriteSchema(w io.Writer, cluster string) error {
	steps, err := Migrations()
	if err != nil {
		return err
	}
	for _, step := range steps {
		if _, err := fmt.Fprintf(w, "-- %s\n", step.Name); err != nil {
			return err
		}
		for _, statement := range step.Statements {
			if cluster != "" {
				statement = Replicated(statement, cluster)
			}
			if _, err := fmt.Fprintf(w, "%s;\n\n", statement); err != nil {
				return err
			}
		}
	}
	return nil
}
