package serve

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"fairlead/deploy/engine/chdb"
)

// options are the URL parameters of a request: those that the interface itself knows, values for the
// placeholders of the statement, and settings.
type options struct {
	query        string
	database     string
	format       string
	queryID      string
	protocol     uint64
	compress     bool
	decompress   bool
	compressHTTP bool
	params       []chdb.Param
	settings     []setting
}

type setting struct{ name, value string }

// ignored are parameters of ClickHouse's interface without a meaning here.
var ignored = []string{"user", "password", "quota_key", "session_timeout", "session_check", "buffer_size",
	"wait_end_of_query", "send_progress_in_http_headers", "http_headers_progress_interval_ms", "add_http_cors_header",
	"network_compression_method", "network_zstd_compression_level", "stacktrace", "role", "client_protocol_version"}

var settingName = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_.]*$`)

func readOptions(r *http.Request) (options, error) {
	values, err := url.ParseQuery(r.URL.RawQuery)
	if err != nil {
		return options{}, fmt.Errorf("URL parameters: %w", err)
	}
	o := options{
		format:   "TabSeparated",
		database: r.Header.Get("X-ClickHouse-Database"),
		queryID:  r.Header.Get("X-ClickHouse-Query-Id"),
	}
	if f := r.Header.Get("X-ClickHouse-Format"); f != "" {
		o.format = f
	}
	for _, key := range slices.Sorted(maps.Keys(values)) {
		v := values.Get(key)
		switch {
		case key == "query":
			o.query = v
		case key == "database":
			o.database = v
		case key == "default_format":
			o.format = v
		case key == "query_id":
			o.queryID = v
		case key == "compress":
			o.compress = v == "1"
		case key == "decompress":
			o.decompress = v == "1"
		case key == "enable_http_compression":
			o.compressHTTP = v == "1"
		case key == "session_id":
			return o, fmt.Errorf("session_id is not supported: every request is a session of its own; " +
				"put the settings into the statement (… SETTINGS name = value)")
		case strings.HasPrefix(key, "param_"):
			o.params = append(o.params, chdb.Param{Name: strings.TrimPrefix(key, "param_"), Value: v})
		case slices.Contains(ignored, key):
			if key == "client_protocol_version" {
				o.protocol, _ = strconv.ParseUint(v, 10, 32)
			}
		case settingName.MatchString(key):
			o.settings = append(o.settings, setting{key, v})
		default:
			return o, fmt.Errorf("URL parameter %q is neither a setting nor known", key)
		}
	}
	return o, nil
}

// literal quotes a text for SQL.
func literal(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(s) + "'"
}

// identifier quotes a name for SQL.
func identifier(s string) string {
	return "`" + strings.NewReplacer(`\`, `\\`, "`", "\\`").Replace(s) + "`"
}

// comment is what the client wants to be known by.
func (o options) comment() string {
	for _, s := range o.settings {
		if s.name == "log_comment" {
			return s.value
		}
	}
	return ""
}
