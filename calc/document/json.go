package document

import (
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"time"
)

// JSONError says in the workshop's words what was found wrong in JSON, where
// and what is wanted: the library's own errors name the types of the program.
// An error of another kind is given back as it is; nil stays nil.
func JSONError(err error) error {
	var wrong *json.UnmarshalTypeError
	var syntax *json.SyntaxError
	var date *time.ParseError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &wrong):
		return wrongType(wrong)
	case errors.As(err, &syntax):
		if strings.HasPrefix(syntax.Error(), "unexpected end") {
			return fmt.Errorf("byte %d: it ends too soon", syntax.Offset)
		}
		plain := strings.NewReplacer("object key string", "a field's name in quotes", "string", "text", "literal", "word")
		return fmt.Errorf("byte %d: %s", syntax.Offset, plain.Replace(syntax.Error()))
	case errors.As(err, &date):
		return fmt.Errorf("%s is no time: write one as in 2026-01-31T14:05:00Z", strings.Trim(date.Value, `"`))
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("it ends too soon")
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Errorf("there is no field %s: take it out, or look how it is written", name)
	}
	if text := err.Error(); strings.HasPrefix(text, "json: ") || strings.Contains(text, "UnmarshalJSON") {
		return errors.New("it is not of the form wanted")
	}
	return err
}

func wrongType(e *json.UnmarshalTypeError) error {
	at := ""
	if e.Field != "" {
		at = e.Field + ": "
	}
	found, digits, _ := strings.Cut(e.Value, " ")
	stands := map[string]string{
		"string": "a text", "number": "a number", "bool": "true or false", "array": "a list", "object": "an object",
	}[found]
	if stands == "" {
		stands = "something else"
	}
	if digits != "" {
		stands = digits
	}
	return fmt.Errorf("%s%s stands here: write %s", at, stands, wantedType(e.Type))
}

func wantedType(t reflect.Type) string {
	if t == nil {
		return "something else"
	}
	if reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]()) {
		return "a text"
	}
	switch t.Kind() {
	case reflect.Pointer:
		return wantedType(t.Elem())
	case reflect.String:
		return "a text"
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return "a whole number"
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return "a whole number of 0 or more"
	case reflect.Float32, reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		return "a list"
	}
	return "an object"
}
