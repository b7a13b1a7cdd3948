package server

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"reflect"
	"strings"

	"github.com/gin-gonic/gin"
	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// deepest is how many objects and arrays may stand inside each other.
const deepest = 8

// decode reads the body as one JSON object into a form. It is strict: unknown
// and repeated members, other letter case, invalid UTF-8, deep nesting and
// anything after the object are errors that say where.
func decode(c *gin.Context, form any) error {
	kind, _, err := mime.ParseMediaType(c.GetHeader("Content-Type"))
	if err != nil || kind != "application/json" {
		return &Fault{Kind: ErrMedia, Cause: err}
	}
	body, err := readBody(c)
	if err != nil {
		return err
	}
	return decodeBytes(body, form)
}

// readBody reads the whole body, within the route's limit.
func readBody(c *gin.Context) ([]byte, error) {
	body, err := io.ReadAll(c.Request.Body)
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return nil, &Fault{Kind: ErrLarge, Text: fmt.Sprintf("At most %d bytes are read here.", large.Limit), Cause: err}
	case err != nil:
		return nil, &Fault{Kind: ErrForm, Text: "The body broke off. Send it again.", Cause: err}
	}
	return body, nil
}

// decodeBytes is decode for a body at hand.
func decodeBytes(body []byte, form any) error {
	if len(bytes.TrimSpace(body)) == 0 {
		return &Fault{Kind: ErrForm, Text: "The body is empty; one JSON object is expected."}
	}
	if err := shallow(body); err != nil {
		return err
	}
	if err := json.Unmarshal(body, form, json.RejectUnknownMembers(true)); err != nil {
		return decodeFault(body, err)
	}
	return nil
}

// shallow checks the syntax and the depth before anything is built from it.
func shallow(body []byte) error {
	d := jsontext.NewDecoder(bytes.NewReader(body))
	for {
		if _, err := d.ReadToken(); err == io.EOF {
			return nil
		} else if err != nil {
			return decodeFault(body, err)
		}
		if d.StackDepth() > deepest {
			return &Fault{Kind: ErrForm, Text: fmt.Sprintf("At %s: nested deeper than %d.", position(body, d.InputOffset()), deepest)}
		}
	}
}

// decodeFault says in words what the decoder met and where.
func decodeFault(body []byte, err error) error {
	var syn *jsontext.SyntacticError
	if errors.As(err, &syn) {
		return &Fault{Kind: ErrForm, Cause: err, Text: fmt.Sprintf("At %s: %s.", position(body, syn.ByteOffset), syntaxWords(syn)),
			Fields: pointerProblem(string(syn.JSONPointer), syntaxWords(syn))}
	}
	var sem *json.SemanticError
	if errors.As(err, &sem) {
		return &Fault{Kind: ErrForm, Cause: err, Text: fmt.Sprintf("At %s: %s.", position(body, sem.ByteOffset), semanticWords(sem)),
			Fields: pointerProblem(string(sem.JSONPointer), semanticWords(sem))}
	}
	return &Fault{Kind: ErrForm, Cause: err}
}

func pointerProblem(pointer, detail string) []FieldProblem {
	if pointer == "" {
		return nil
	}
	return []FieldProblem{{pointer, detail}}
}

// syntaxWords never repeats what was sent.
func syntaxWords(err *jsontext.SyntacticError) string {
	text := err.Err.Error()
	switch {
	case errors.Is(err.Err, jsontext.ErrDuplicateName):
		return "a member is given twice"
	case errors.Is(err.Err, io.ErrUnexpectedEOF):
		return "the JSON ends too early"
	case strings.Contains(text, "UTF-8"):
		return "not valid UTF-8"
	case strings.Contains(text, "after top-level value"):
		return "something stands after the object; one JSON object is expected"
	case strings.Contains(text, "depth"):
		return fmt.Sprintf("nested deeper than %d", deepest)
	}
	return "not valid JSON"
}

// wants names the JSON type that a Go type is read from.
var wants = map[reflect.Kind]string{
	reflect.String: "text in quotes", reflect.Int: "a whole number without quotes, unit, comma or point",
	reflect.Bool: "true or false", reflect.Slice: "an array", reflect.Struct: "an object", reflect.Pointer: "an object",
}

func semanticWords(err *json.SemanticError) string {
	if errors.Is(err.Err, json.ErrUnknownName) {
		return "a member that is not known here"
	}
	if err.GoType != nil {
		if want, ok := wants[err.GoType.Kind()]; ok {
			return want + " is expected"
		}
	}
	return "not the type that is expected"
}

// position is a byte offset as line and column, both from 1; columns count bytes.
func position(body []byte, offset int64) string {
	before := body[:min(int(offset), len(body))]
	line := bytes.Count(before, []byte{'\n'}) + 1
	return fmt.Sprintf("line %d, column %d", line, len(before)-bytes.LastIndexByte(before, '\n'))
}
