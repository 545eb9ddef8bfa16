package store

import (
	"bytes"
	"encoding/json"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// messageText writes a message as JSON under the names of the contract, the same
// bytes in every build of the program: protojson sets its blanks another way in
// each on purpose, and rows are compared with what a later build says. Empty where
// the message can't be written.
func messageText(m proto.Message) string {
	text, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(m)
	if err != nil {
		return ""
	}
	var b bytes.Buffer
	if json.Compact(&b, text) != nil {
		return ""
	}
	return b.String()
}
