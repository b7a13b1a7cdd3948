// Package auth knows passwords, tokens and who may do what. It keeps nothing and
// asks no database: hashes, keys and session ids come in and go out as values.
//
//   - role.go: the whole who-may-what matrix, May(role, action).
//   - password.go, weak.go: Hasher (Argon2id, PHC text) and CheckPassword, the rules for a chosen one.
//   - token.go: Tokens, the only maker and reader of signed tokens. A token carries
//     a session id and nothing else, so that what a person may do is looked up at
//     every request and ends at once when the session ends.
//   - slow.go: Slowdown, the growing wait after failed sign-ins to one account.
//
// Sources: NIST SP 800-63B-4 (passwords), RFC 9106 (Argon2), RFC 7519 and RFC 8725
// (JSON Web Tokens and their best practice), RFC 9068 (the type at+jwt).
package auth
