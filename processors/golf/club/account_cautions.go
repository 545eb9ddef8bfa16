package club

import (
	"fmt"
	"io"
	"strings"
)

// CautionAccount is a caution with the operation that it belongs to.
type CautionAccount struct {
	Operation string `json:"operation"`
	Hazard    string `json:"hazard"`
	Do        string `json:"do"`
	Source    string `json:"source"`
}

// TellCautions lists the cautions of operations, all of them without one.
func TellCautions(names ...string) ([]CautionAccount, error) {
	ops := Operations()
	if len(names) > 0 {
		ops = nil
		for _, n := range names {
			ops = append(ops, Operation(n))
		}
	}
	out := []CautionAccount{}
	for _, op := range ops {
		list, err := Cautions(op)
		if err != nil {
			return nil, err
		}
		for _, x := range list {
			out = append(out, CautionAccount{string(op), x.Hazard, x.Do, x.Source})
		}
	}
	return out, nil
}

// WriteCautions writes them for people, by operation.
func WriteCautions(w io.Writer, list []CautionAccount) error {
	var b strings.Builder
	last := ""
	for _, x := range list {
		if x.Operation != last {
			fmt.Fprintf(&b, "%s\n", x.Operation)
			last = x.Operation
		}
		fmt.Fprintf(&b, "  %s\n    %s (%s)\n", x.Hazard, x.Do, x.Source)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
