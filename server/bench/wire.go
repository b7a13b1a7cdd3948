package bench

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"net"
	"net/http/httputil"
	"strconv"
	"time"
)

// Patience is how long a Wire waits for an answer.
const Patience = 30 * time.Second

// Wire is one connection that is kept open, as a browser's is. It asks one thing
// at a time and is not safe for concurrent use. What it does beside writing and
// reading is little, for the machine that it asks is the same.
type Wire struct {
	addr string
	auth string // the header that says who asks; empty: nobody
	conn net.Conn
	in   *bufio.Reader
	out  []byte
	body bytes.Buffer
}

// Reply is an answer. Body is good until the next request on the same Wire.
type Reply struct {
	Status int
	Body   []byte
	Cookie string // name=value of a cookie that was set; empty: none
}

// NewWire returns a connection to host:port, which is opened with the first request.
func NewWire(addr string) *Wire { return &Wire{addr: addr} }

// Bearer signs the requests that follow with a program's token.
func (w *Wire) Bearer(token string) { w.auth = "Authorization: Bearer " + token + "\r\n" }

// Cookie signs the requests that follow with a browser's cookie, as name=value.
func (w *Wire) Cookie(cookie string) { w.auth = "Cookie: " + cookie + "\r\n" }

// Close closes the connection.
func (w *Wire) Close() error {
	if w.conn == nil {
		return nil
	}
	err := w.conn.Close()
	w.conn = nil
	return err
}

// Do asks and reads the whole answer. A body is sent as JSON. After an error the
// connection is closed, and the next request opens another; whether the request
// was carried out is not known then.
func (w *Wire) Do(method, path string, body []byte) (Reply, error) {
	if w.conn == nil {
		conn, err := net.DialTimeout("tcp", w.addr, Patience)
		if err != nil {
			return Reply{}, fmt.Errorf("wire: %w", err)
		}
		w.conn, w.in = conn, bufio.NewReaderSize(conn, 4<<10)
	}
	reply, keep, err := w.exchange(method, path, body)
	if err != nil || !keep {
		_ = w.Close() // it is broken or the server closes it too
	}
	if err != nil {
		return Reply{}, fmt.Errorf("wire: %w", err)
	}
	return reply, nil
}

func (w *Wire) exchange(method, path string, body []byte) (Reply, bool, error) {
	if err := w.conn.SetDeadline(time.Now().Add(Patience)); err != nil {
		return Reply{}, false, err
	}
	w.out = append(w.out[:0], method...)
	w.out = append(w.out, ' ')
	w.out = append(w.out, path...)
	w.out = append(w.out, " HTTP/1.1\r\nHost: "...)
	w.out = append(w.out, w.addr...)
	w.out = append(w.out, "\r\n"...)
	w.out = append(w.out, w.auth...)
	if body != nil {
		w.out = append(w.out, "Content-Type: application/json\r\nContent-Length: "...)
		w.out = strconv.AppendInt(w.out, int64(len(body)), 10)
		w.out = append(w.out, "\r\n"...)
	}
	w.out = append(w.out, "\r\n"...)
	w.out = append(w.out, body...)
	if _, err := w.conn.Write(w.out); err != nil {
		return Reply{}, false, err
	}
	return w.read()
}

// read reads one answer. keep: the connection takes another request.
func (w *Wire) read() (r Reply, keep bool, err error) {
	line, err := w.in.ReadSlice('\n')
	if err != nil {
		return r, false, err
	}
	if len(line) < len("HTTP/1.1 200") || !bytes.HasPrefix(line, []byte("HTTP/1.1 ")) {
		return r, false, fmt.Errorf("no HTTP/1.1 answer: %q", line)
	}
	if r.Status, err = strconv.Atoi(string(line[9:12])); err != nil {
		return r, false, err
	}
	h := head{keep: true}
	for {
		if line, err = w.in.ReadSlice('\n'); err != nil {
			return r, false, err
		}
		if line = bytes.TrimRight(line, "\r\n"); len(line) == 0 {
			break
		}
		if err := h.take(line); err != nil {
			return r, false, err
		}
	}
	w.body.Reset()
	from := io.LimitReader(w.in, h.length)
	if h.chunked {
		from = httputil.NewChunkedReader(w.in)
	}
	n, err := w.body.ReadFrom(from)
	if err == nil && !h.chunked && n < h.length {
		err = io.ErrUnexpectedEOF
	}
	if err == nil && h.chunked { // the empty line after the last chunk
		_, err = w.in.ReadSlice('\n')
	}
	r.Body, r.Cookie = w.body.Bytes(), h.cookie
	return r, h.keep, err
}

// head is what a Wire needs to know of the headers of an answer.
type head struct {
	length  int64
	chunked bool
	keep    bool
	cookie  string
}

// take reads one header.
func (h *head) take(line []byte) (err error) {
	name, value, _ := bytes.Cut(line, []byte(": "))
	switch string(name) {
	case "Content-Length":
		h.length, err = strconv.ParseInt(string(value), 10, 64)
	case "Transfer-Encoding":
		h.chunked = string(value) == "chunked"
	case "Connection":
		h.keep = string(value) != "close"
	case "Set-Cookie":
		pair, _, _ := bytes.Cut(value, []byte(";"))
		h.cookie = string(pair)
	}
	return err
}
