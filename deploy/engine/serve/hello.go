package serve

import (
	"net/http"
	"strings"

	chproto "github.com/ClickHouse/ch-go/proto"
	"github.com/ClickHouse/clickhouse-go/v2/lib/column"
	"github.com/ClickHouse/clickhouse-go/v2/lib/proto"
)

// hello answers the first query of clickhouse-go. That one is decoded at the protocol version that the client
// claims; its answer says revision 0, and from then on the client decodes at revision 0, which is what the
// engine's FORMAT Native writes.
type hello struct{ version string }

const helloQuery = "SELECT displayName(), version(), revision(), timezone()"

func (hello) asked(sql string) bool { return strings.TrimSpace(sql) == helloQuery }

func (h hello) answer(w http.ResponseWriter, r *http.Request, o options) error {
	block := proto.NewBlock()
	for _, c := range []struct{ name, typ string }{
		{"displayName()", "String"}, {"version()", "String"}, {"revision()", "UInt32"}, {"timezone()", "String"},
	} {
		if err := block.AddColumn(c.name, column.Type(c.typ)); err != nil {
			return err
		}
	}
	if err := block.Append("fairlead-engine", h.version, uint32(0), "UTC"); err != nil {
		return err
	}
	var buf chproto.Buffer
	if err := block.Encode(&buf, o.protocol); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	out := encode(w, r, o)
	if err := out.send(buf.Buf); err != nil {
		return err
	}
	return out.close()
}
