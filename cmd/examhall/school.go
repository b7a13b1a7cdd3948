package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"sync"
	"sync/atomic"

	"dewclaw/cases/robot"
	"dewclaw/server"
	"dewclaw/server/auth"
	"dewclaw/server/bench"
	"dewclaw/server/store"
)

// password is every robot's.
const password = "walnut ferry lantern"

// school is what the hall is about: a folder, its people, and the server.
type school struct {
	o        options
	data     string
	fresh    bool // the folder is ours and goes at the end
	server   *process
	students []*student
	late     []string // logins of those who sign in meanwhile
	handed   []handIn // whole visits that are handed in meanwhile
}

// handIn is a visit that is done and not handed in.
type handIn struct {
	id string
	of *student
}

func newSchool(o options) (*school, error) {
	s := &school{o: o, data: o.data}
	if s.data == "" {
		dir, err := os.MkdirTemp("", "examhall-")
		if err != nil {
			return nil, fmt.Errorf("a folder for the school: %w", err)
		}
		s.data, s.fresh = dir, true
		return s, nil
	}
	if err := os.MkdirAll(s.data, 0o700); err != nil {
		return nil, fmt.Errorf("--data: %w", err)
	}
	if files, err := os.ReadDir(s.data); err != nil || len(files) > 0 {
		return nil, &usageError{fmt.Errorf("--data %s is not an empty folder; the hall is filled with robots and wants one of its own", s.data)}
	}
	return s, nil
}

// close stops the server and removes what was temporary.
func (s *school) close() error {
	var err error
	if s.server != nil {
		err = s.server.kill()
	}
	for _, one := range s.students {
		err = errors.Join(err, one.wire.Close(), one.media.Close())
	}
	if s.fresh {
		err = errors.Join(err, os.RemoveAll(s.data))
	}
	return err
}

// together is how many people or visits are made at the same time, so that they
// share the flushes of the disk.
const together = 32

// fill makes the people and their visits, in this process and before the server
// that is measured starts.
func (s *school) fill(ctx context.Context, b *bar) (err error) {
	in, err := server.New(server.Config{Data: s.data, Database: s.o.Database})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	if people, err := in.Store().People(ctx); err != nil || len(people) > 0 {
		return errors.Join(err, errors.New("the database has people in it already; the hall wants an empty one"))
	}
	phc, err := auth.NewHasher(auth.Params{}).Hash(ctx, password)
	if err != nil {
		return err
	}
	return errors.Join(s.enter(ctx, in, phc, b), s.begin(ctx, in, b), s.workAhead(ctx, in, b))
}

// enter makes the people.
func (s *school) enter(ctx context.Context, in *server.Server, phc string, b *bar) error {
	s.students, s.late = make([]*student, s.o.Students), make([]string, s.o.SignIns)
	return each(ctx, s.o.Students+s.o.SignIns, together, b.of("people"), func(i int) error {
		login := fmt.Sprintf("robot%05d", i)
		p, err := in.Store().AddPerson(ctx, store.NewPerson{Login: login, Role: string(auth.Student), Name: "Robot " + login, PasswordHash: phc})
		if err != nil {
			return err
		}
		if i < s.o.Students {
			s.students[i] = newStudent(p.ID, login, s.o.Seed, uint64(i))
		} else {
			s.late[i-s.o.Students] = login
		}
		return nil
	})
}

// spare is how much more each student has to do than is due, since some think
// faster than others.
const spare = 1.4

// begin draws every student the visits that the load needs.
func (s *school) begin(ctx context.Context, in *server.Server, b *bar) error {
	due := spare*s.o.load.acts()/float64(s.o.Students) + 20 + mostPosts
	ids := in.Practice()
	return each(ctx, len(s.students), together, b.of("visits"), func(i int) error {
		one := s.students[i]
		for n, acts := 0, 0; float64(acts) < due; n++ {
			id, planned, err := in.OpenVisit(ctx, one.id, ids[(i+n)%len(ids)], "veterinary", robot.Ideal)
			if err != nil {
				return err
			}
			posts, err := bench.Posts(planned)
			if err != nil {
				return err
			}
			posts = posts[:min(len(posts), mostPosts)]
			one.visits = append(one.visits, &visit{id: id, posts: posts})
			acts += len(posts)
		}
		return nil
	})
}

// workAhead makes the whole visits that are handed in meanwhile.
func (s *school) workAhead(ctx context.Context, in *server.Server, b *bar) error {
	s.handed = make([]handIn, s.o.Finishes)
	ids := in.Practice()
	return each(ctx, len(s.handed), together, b.of("visits to hand in"), func(i int) error {
		one := s.students[i%len(s.students)]
		id, err := in.LeaveVisit(ctx, one.id, ids[i%len(ids)], "veterinary", robot.Ideal)
		s.handed[i] = handIn{id, one}
		return err
	})
}

// signIn signs every student in, as a browser does, and lets each come to some
// point of the first visit: in a hall not everybody begins at the same moment.
func (s *school) signIn(ctx context.Context, b *bar) error {
	if err := s.admit(ctx, b); err != nil {
		return err
	}
	return each(ctx, len(s.handed), 4, b.of("opened"), func(i int) error { // they are in use until they are handed in
		w := bench.NewWire(s.server.addr)
		defer w.Close()
		w.Cookie(s.handed[i].of.cookie)
		_, err := readVisit(w, s.handed[i].id)
		return err
	})
}

// admit signs the students in one by one.
func (s *school) admit(ctx context.Context, b *bar) error {
	return each(ctx, len(s.students), 4, b.of("signed in"), func(i int) error {
		one := s.students[i]
		cookie, err := signIn(s.server.addr, one.login)
		if err != nil {
			return err
		}
		one.wire, one.media = bench.NewWire(s.server.addr), bench.NewWire(s.server.addr)
		one.wire.Cookie(cookie)
		one.media.Cookie(cookie)
		one.cookie = cookie
		return one.settle()
	})
}

// each calls do for 0 to n-1, some at a time, until one fails or ctx ends.
func each(ctx context.Context, n, atATime int, done func(n, of int), do func(i int) error) error {
	var next, ready atomic.Int64
	var mu sync.Mutex
	var failed []error
	var all sync.WaitGroup
	for range min(n, atATime) {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < n && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				if err := do(i); err != nil {
					mu.Lock()
					failed = append(failed, err)
					mu.Unlock()
					next.Store(int64(n))
					return
				}
				done(int(ready.Add(1)), n)
			}
		})
	}
	all.Wait()
	return errors.Join(slices.Concat(failed, []error{ctx.Err()})...)
}
