package server

import (
	"context"

	"dewclaw/server/auth"
)

// signingKeys reads the keys of tokens; the first start makes one.
func (s *Server) signingKeys(ctx context.Context) ([]auth.Key, error) {
	rows, err := s.store.EnsureSigningKey(ctx, func() (string, []byte) {
		k := auth.NewKey()
		return k.ID, k.Secret
	})
	if err != nil {
		return nil, err
	}
	keys := make([]auth.Key, 0, len(rows))
	for _, row := range rows {
		keys = append(keys, auth.Key{ID: row.Kid, Secret: row.Secret, Retired: !row.Retired.IsZero()})
	}
	return keys, nil
}
