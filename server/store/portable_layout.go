package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
)

// layout is one table as the schema itself tells it.
type layout struct {
	name    string
	columns []column
	key     []string // columns of the primary key
}

// columnKinds are the kinds of the types that the migrations use, as each
// database calls them.
var columnKinds = map[string]string{
	"TEXT": kindText, "BYTEA": kindBytes, "INTEGER": kindInteger, "BIGINT": kindInteger, "INT4": kindInteger, "INT8": kindInteger,
}

// quoted is a name of the schema in SQL.
func quoted(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }

// list is the columns in SQL.
func (l layout) list() string {
	names := make([]string, len(l.columns))
	for i, c := range l.columns {
		names[i] = quoted(c.Name)
	}
	return strings.Join(names, ", ")
}

// selection reads all rows in the order of the key, without those that where chooses.
func (l layout) selection(leaveOut string) string {
	text := "SELECT " + l.list() + " FROM " + quoted(l.name)
	if leaveOut != "" {
		text += " WHERE NOT (" + leaveOut + ")"
	}
	order := make([]string, len(l.key))
	for i, name := range l.key {
		order[i] = quoted(name)
	}
	return text + " ORDER BY " + strings.Join(order, ", ")
}

// layouts reads all tables, each after those that it refers to. A table cannot
// be forgotten, for no list of them stands anywhere.
func layouts(ctx context.Context, tx *sql.Tx, w words) ([]layout, error) {
	names, err := column1(ctx, tx, w.tables)
	if err != nil {
		return nil, err
	}
	parents, err := pairs(ctx, tx, w.parents)
	if err != nil {
		return nil, err
	}
	keys, err := pairs(ctx, tx, w.keys)
	if err != nil {
		return nil, err
	}
	if names, err = inOrder(names, parents); err != nil {
		return nil, err
	}
	all := make([]layout, len(names))
	for i, name := range names {
		all[i] = layout{name: name, key: keys[name]}
		if all[i].columns, err = columnsOf(ctx, tx, name); err != nil {
			return nil, err
		}
		if len(all[i].key) == 0 {
			return nil, fmt.Errorf("table %s has no primary key, so its rows have no order", name)
		}
	}
	return all, nil
}

// inOrder puts names so that each comes after its parents.
func inOrder(names []string, parents map[string][]string) (ordered []string, err error) {
	waits := func(name string) bool {
		return slices.ContainsFunc(parents[name], func(p string) bool { return p != name && !slices.Contains(ordered, p) })
	}
	left := slices.Clone(names)
	for len(left) > 0 {
		i := slices.IndexFunc(left, func(name string) bool { return !waits(name) })
		if i < 0 {
			return nil, fmt.Errorf("the tables %s refer to each other in a circle", strings.Join(left, ", "))
		}
		ordered = append(ordered, left[i])
		left = slices.Delete(left, i, i+1)
	}
	return ordered, nil
}

func columnsOf(ctx context.Context, tx *sql.Tx, table string) (columns []column, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT * FROM "+quoted(table)+" LIMIT 0")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	types, err := rows.ColumnTypes()
	if err != nil {
		return nil, err
	}
	for _, t := range types {
		kind, known := columnKinds[strings.ToUpper(t.DatabaseTypeName())]
		if !known {
			return nil, fmt.Errorf("column %s of %s is of type %s, which the portable form does not have", t.Name(), table, t.DatabaseTypeName())
		}
		columns = append(columns, column{t.Name(), kind})
	}
	return columns, rows.Err()
}

// column1 reads the only column of a query.
func column1(ctx context.Context, tx *sql.Tx, query string) (all []string, err error) {
	rows, err := tx.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		all = append(all, text)
	}
	return all, rows.Err()
}

// pairs reads two columns: the second's values by the first's.
func pairs(ctx context.Context, tx *sql.Tx, query string) (map[string][]string, error) {
	rows, err := tx.QueryContext(ctx, query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	all := map[string][]string{}
	for rows.Next() {
		var a, b string
		if err := rows.Scan(&a, &b); err != nil {
			return nil, err
		}
		all[a] = append(all[a], b)
	}
	return all, rows.Err()
}
