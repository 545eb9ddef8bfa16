package store

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/ClickHouse/clickhouse-go/v2"
)

// What a store says to an insert that it did not take is one of three things.
// It may be about the rows: given again they are refused again, by themselves or
// among others. It may be about the store: no room, no memory, no table; the same
// rows are taken later. Or nobody knows. No answer at all is of the second kind.

// errUnwritable: the rows do not fit the table's columns, and were not sent.
var errUnwritable = errors.New("a value that the column can't hold")

// ofRows are ClickHouse's codes of errors that the rows themselves cause.
var ofRows = []int32{
	6,   // CANNOT_PARSE_TEXT
	25,  // CANNOT_PARSE_ESCAPE_SEQUENCE
	26,  // CANNOT_PARSE_QUOTED_STRING
	27,  // CANNOT_PARSE_INPUT_ASSERTION_FAILED
	38,  // CANNOT_PARSE_DATE
	41,  // CANNOT_PARSE_DATETIME
	69,  // ARGUMENT_OUT_OF_BOUND
	70,  // CANNOT_CONVERT_TYPE
	72,  // CANNOT_PARSE_NUMBER
	117, // INCORRECT_DATA
	128, // TOO_LARGE_ARRAY_SIZE
	131, // TOO_LARGE_STRING_SIZE
	190, // SIZES_OF_ARRAYS_DONT_MATCH
	321, // VALUE_IS_OUT_OF_RANGE_OF_DATA_TYPE
	349, // CANNOT_INSERT_NULL_IN_ORDINARY_COLUMN
	376, // CANNOT_PARSE_UUID
	407, // DECIMAL_OVERFLOW
	469, // VIOLATED_CONSTRAINT
	691, // UNKNOWN_ELEMENT_OF_ENUM
}

// ofStore are codes that say nothing of the rows.
var ofStore = []int32{
	16,  // NO_SUCH_COLUMN_IN_TABLE
	60,  // UNKNOWN_TABLE
	74,  // CANNOT_READ_FROM_FILE_DESCRIPTOR
	75,  // CANNOT_WRITE_TO_FILE_DESCRIPTOR
	76,  // CANNOT_OPEN_FILE
	81,  // UNKNOWN_DATABASE
	87,  // CANNOT_SEEK_THROUGH_FILE
	159, // TIMEOUT_EXCEEDED
	164, // READONLY
	202, // TOO_MANY_SIMULTANEOUS_QUERIES
	209, // SOCKET_TIMEOUT
	210, // NETWORK_ERROR
	236, // ABORTED
	241, // MEMORY_LIMIT_EXCEEDED
	242, // TABLE_IS_READ_ONLY
	243, // NOT_ENOUGH_SPACE
	252, // TOO_MANY_PARTS
	279, // ALL_CONNECTION_TRIES_FAILED
	319, // UNKNOWN_STATUS_OF_INSERT
	394, // QUERY_WAS_CANCELLED
	395, // FUNCTION_THROW_IF_VALUE_IS_NON_ZERO
	516, // AUTHENTICATION_FAILED
	999, // KEEPER_EXCEPTION
}

// Blame is whose fault it is that an insert failed.
type Blame int

const (
	OfStore Blame = iota // the same rows are taken once the trouble is over
	Unsure               // the store refused for a reason that may lie in the rows
	OfRows               // the rows are refused as often as they are given
)

// BlameFor judges the error of an insert.
func BlameFor(err error) Blame {
	if errors.Is(err, errUnwritable) {
		return OfRows
	}
	var e *clickhouse.Exception
	switch {
	case !errors.As(err, &e) || slices.Contains(ofStore, e.Code):
		return OfStore
	case slices.Contains(ofRows, e.Code):
		return OfRows
	}
	return Unsure
}

// Reason is what was said of rows, in one line, without the statement and
// without values: those are forgotten with their player, and a reason stays.
func Reason(err error) string {
	var e *clickhouse.Exception
	if errors.As(err, &e) {
		said, _, _ := strings.Cut(e.Message, " Column values:")
		return firstLine(fmt.Sprintf("code %d: %s", e.Code, said))
	}
	return firstLine(fmt.Sprint(err))
}

// firstLine bounds a text for people.
func firstLine(s string) string {
	const most = 300
	for i, r := range s {
		if r == '\n' || i >= most {
			return s[:i]
		}
	}
	return s
}
