package store

import (
	"context"
	"fmt"
	"reflect"

	"gorm.io/gorm/schema"
)

// bitSerializer lets gorm store a bool as 0 or 1: SQLite has no other, and
// PostgreSQL takes nothing else where the column is one for numbers.
type bitSerializer struct{}

func init() { schema.RegisterSerializer("bit", bitSerializer{}) }

// Scan sets a field from the stored number.
func (bitSerializer) Scan(ctx context.Context, field *schema.Field, dst reflect.Value, v any) error {
	n, ok := v.(int64)
	if !ok && v != nil {
		return fmt.Errorf("%s: 0 or 1 expected, got %T", field.Name, v)
	}
	field.ReflectValueOf(ctx, dst).SetBool(n != 0)
	return nil
}

// Value returns the number to store.
func (bitSerializer) Value(_ context.Context, field *schema.Field, _ reflect.Value, v any) (any, error) {
	is, ok := v.(bool)
	if !ok {
		return nil, fmt.Errorf("%s: a bool expected, got %T", field.Name, v)
	}
	return bit(is), nil
}

// bit is how a bool is stored.
func bit(is bool) int64 {
	if is {
		return 1
	}
	return 0
}
