package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

func TestAppendAnswersEveryCase(t *testing.T) {
	s := storetest.New(t)
	ctx, p := t.Context(), s.MakePerson("student")
	a := s.MakeAttempt(p.ID, "stairs")
	first := s.MakeAct(a, 1)
	got, err := s.Append(ctx, first)
	require.NoError(t, err)
	require.False(t, got.Earlier)
	stored, err := s.Act(ctx, a.Transcript, 1)
	require.NoError(t, err)
	require.Equal(t, stored, got.Act)
	require.Equal(t, storetest.Start, stored.At)
	require.Equal(t, first.Act, stored.Act)
	require.Equal(t, first.Outcome, stored.Outcome)

	other := first
	other.Retry = "another tab"
	changed := first
	changed.Act = []byte(`{"n":1,"kind":"wait","seconds":99}`)
	gap := s.MakeAct(a, 3)
	stranger := s.MakeAct(a, 2)
	stranger.Transcript = 4711
	noRetry := s.MakeAct(a, 2)
	noRetry.Retry = ""
	zero := s.MakeAct(a, 0)
	huge := s.MakeAct(a, 2)
	huge.Act = make([]byte, store.MaxAct+1)
	for _, c := range []struct {
		act  store.NewAct
		want error
	}{{other, store.ErrTaken}, {changed, store.ErrRetryReused}, {gap, store.ErrGap}, {stranger, store.ErrNotFound},
		{noRetry, store.ErrInvalid}, {zero, store.ErrInvalid}, {huge, store.ErrInvalid}} {
		_, err := s.Append(ctx, c.act)
		require.ErrorIs(t, err, c.want)
	}

	again := first
	again.At, again.Outcome = storetest.Start.Add(time.Hour), []byte("played again, differently")
	got, err = s.Append(ctx, again)
	require.NoError(t, err)
	require.True(t, got.Earlier)
	require.Equal(t, stored, got.Act, "the first answer stands")
	all, err := s.Acts(ctx, a.Transcript, 0)
	require.NoError(t, err)
	require.Equal(t, []store.Act{stored}, all)
}

func TestARetryIsKnownByWhatTheClientSent(t *testing.T) {
	s := storetest.New(t)
	a := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	act := s.MakeAct(a, 1)
	act.Request, act.Act = []byte(`{"kind":"lift"}`), []byte(`{"kind":"lift","held":7}`)
	_, err := s.Append(t.Context(), act)
	require.NoError(t, err)
	act.Act = []byte(`{"kind":"lift","held":9}`) // two seconds later, by the server's clock
	got, err := s.Append(t.Context(), act)
	require.NoError(t, err)
	require.True(t, got.Earlier)
	require.Equal(t, `{"kind":"lift","held":7}`, string(got.Act.Act))
	act.Request = []byte(`{"kind":"wait"}`)
	_, err = s.Append(t.Context(), act)
	require.ErrorIs(t, err, store.ErrRetryReused)
}

func TestActsAreReadInOrder(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	a, b := s.MakeAttempt(p.ID, "one"), s.MakeAttempt(p.ID, "two")
	_, err := s.LastAct(t.Context(), a.Transcript)
	require.ErrorIs(t, err, store.ErrNotFound)
	s.AppendActs(a, 12)
	s.AppendActs(b, 2)
	some, err := s.Acts(t.Context(), a.Transcript, 9)
	require.NoError(t, err)
	require.Equal(t, []int{10, 11, 12}, []int{some[0].N, some[1].N, some[2].N})
	last, err := s.LastAct(t.Context(), a.Transcript)
	require.NoError(t, err)
	require.Equal(t, some[2], last)
	_, err = s.Act(t.Context(), b.Transcript, 3)
	require.ErrorIs(t, err, store.ErrNotFound)
}

// TestManyAtOnce lets 50 goroutines write into 50 transcripts, two to each: of
// the two that want the same number one wins and the other is told.
func TestManyAtOnce(t *testing.T) {
	const transcripts, acts = 25, 20
	s := storetest.New(t)
	p := s.MakePerson("student")
	var won, lost atomic.Int64
	var group sync.WaitGroup
	attempts := make([]store.Attempt, transcripts)
	for i := range attempts {
		attempts[i] = s.MakeAttempt(p.ID, "stairs")
		for tab := range 2 {
			group.Go(func() {
				for n := 1; n <= acts; n++ {
					act := s.MakeAct(attempts[i], n)
					act.Retry = fmt.Sprintf("tab %d act %d", tab, n)
					switch _, err := s.Append(context.Background(), act); {
					case err == nil:
						won.Add(1)
					case errors.Is(err, store.ErrTaken):
						lost.Add(1)
					default:
						t.Errorf("transcript %d act %d: %v", i, n, err)
					}
				}
			})
		}
	}
	group.Wait()
	require.EqualValues(t, transcripts*acts, won.Load())
	require.EqualValues(t, transcripts*acts, lost.Load())
	stats := s.Stats()
	require.EqualValues(t, transcripts*acts, stats.Acts)
	require.Less(t, stats.Groups, stats.Acts, "some shared a commit")
	s.Reopen()
	for _, a := range attempts {
		all, err := s.Store.Acts(t.Context(), a.Transcript, 0)
		require.NoError(t, err)
		require.Len(t, all, acts)
		for i, act := range all {
			require.Equal(t, i+1, act.N)
		}
	}
}

func TestTheSameRequestFromAllSidesIsStoredOnce(t *testing.T) {
	s := storetest.New(t)
	a := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	var fresh atomic.Int64
	var group sync.WaitGroup
	for range 50 {
		group.Go(func() {
			got, err := s.Append(context.Background(), s.MakeAct(a, 1))
			require.NoError(t, err)
			require.Equal(t, 1, got.Act.N)
			if !got.Earlier {
				fresh.Add(1)
			}
		})
	}
	group.Wait()
	require.EqualValues(t, 1, fresh.Load())
}

// TestOneBadActDoesNotSpoilItsGroup makes the database refuse one act. Its group
// is held together by a lock on the database while they all queue up.
func TestOneBadActDoesNotSpoilItsGroup(t *testing.T) {
	const others = 100
	s := storetest.New(t, storetest.OneWriter)
	p := s.MakePerson("student")
	s.Refuse("INSERT ON acts", "NEW.retry = 'poison'")
	acts := make([]store.NewAct, others+1)
	for i := range acts {
		acts[i] = s.MakeAct(s.MakeAttempt(p.ID, "stairs"), 1)
	}
	acts[others/2].Retry = "poison"

	release := s.HoldWrites()
	errs := make([]error, len(acts))
	var group sync.WaitGroup
	for i := range acts {
		group.Go(func() { _, errs[i] = s.Append(context.Background(), acts[i]) })
	}
	require.Eventually(t, func() bool { return s.Stats().Waiting >= others }, 4*time.Second, time.Millisecond)
	release()
	group.Wait()
	for i, err := range errs {
		if i == others/2 {
			require.ErrorIs(t, err, store.ErrInvalid)
			continue
		}
		require.NoError(t, err)
	}
	stats := s.Stats()
	require.EqualValues(t, others, stats.Acts)
	require.EqualValues(t, 1, stats.Alone)
}

func TestLeavingTheQueue(t *testing.T) {
	s := storetest.New(t, storetest.OneWriter)
	p := s.MakePerson("student")
	writing, waiting := s.MakeAttempt(p.ID, "one"), s.MakeAttempt(p.ID, "two")
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := s.Append(ended, s.MakeAct(waiting, 1))
	require.ErrorIs(t, err, context.Canceled)

	release := s.HoldWrites()
	leave, cancel := context.WithCancel(t.Context())
	var errs [2]error
	var group sync.WaitGroup
	group.Go(func() { _, errs[0] = s.Append(leave, s.MakeAct(writing, 1)) })
	time.Sleep(50 * time.Millisecond) // by now the writer has it and waits for the lock
	group.Go(func() { _, errs[1] = s.Append(leave, s.MakeAct(waiting, 1)) })
	require.Eventually(t, func() bool { return s.Stats().Waiting == 1 }, 4*time.Second, time.Millisecond)
	cancel()
	require.Eventually(t, func() bool { return s.Stats().Waiting == 0 }, 4*time.Second, time.Millisecond)
	release()
	group.Wait()

	require.NoError(t, errs[0], "it was being written already, so its answer is awaited")
	require.ErrorIs(t, errs[1], context.Canceled)
	_, err = s.Act(t.Context(), writing.Transcript, 1)
	require.NoError(t, err)
	_, err = s.Act(t.Context(), waiting.Transcript, 1)
	require.ErrorIs(t, err, store.ErrNotFound, "said not to be stored, and is not")
	got, err := s.Append(t.Context(), s.MakeAct(waiting, 1))
	require.NoError(t, err)
	require.False(t, got.Earlier)
}

// TestCancelAnywhere cancels at random moments: what Append said must be so.
func TestCancelAnywhere(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	var group sync.WaitGroup
	for i := range 50 {
		a := s.MakeAttempt(p.ID, "stairs")
		group.Go(func() {
			for n := 1; n <= 10; {
				ctx, cancel := context.WithTimeout(context.Background(), time.Duration((i*7+n*13)%40)*50*time.Microsecond)
				_, err := s.Append(ctx, s.MakeAct(a, n))
				cancel()
				_, missing := s.Act(context.Background(), a.Transcript, n)
				require.Equal(t, err == nil, missing == nil, "append: %v, read: %v", err, missing)
				if err == nil {
					n++
					continue
				}
				require.ErrorIs(t, err, context.DeadlineExceeded)
				_, err = s.Append(context.Background(), s.MakeAct(a, n))
				require.NoError(t, err)
				n++
			}
		})
	}
	group.Wait()
	require.EqualValues(t, 500, s.Stats().Acts)
}

func TestCloseWritesWhatWaits(t *testing.T) {
	s := storetest.New(t, storetest.OneWriter)
	p := s.MakePerson("student")
	acts := make([]store.NewAct, 40)
	for i := range acts {
		acts[i] = s.MakeAct(s.MakeAttempt(p.ID, "stairs"), 1)
	}
	release := s.HoldWrites()
	errs := make([]error, len(acts))
	var group sync.WaitGroup
	for i := range acts {
		group.Go(func() { _, errs[i] = s.Append(context.Background(), acts[i]) })
	}
	require.Eventually(t, func() bool { return s.Stats().Waiting >= len(acts)-1 }, 4*time.Second, time.Millisecond)
	time.AfterFunc(50*time.Millisecond, release)
	old := s.Store
	s.Reopen()
	group.Wait()
	for i, act := range acts {
		require.NoError(t, errs[i])
		_, err := s.Store.Act(t.Context(), act.Transcript, 1)
		require.NoError(t, err)
	}
	_, err := old.Append(t.Context(), acts[0])
	require.ErrorIs(t, err, store.ErrShut)
}

func TestAFullQueueSaysBusy(t *testing.T) {
	s := storetest.New(t)
	small, err := store.Open(t.Context(), store.Config{URL: s.URL, Writers: 1, MaxWaiting: 1})
	require.NoError(t, err)
	defer func() { require.NoError(t, small.Close()) }()
	release := s.HoldWrites()
	var group sync.WaitGroup
	group.Go(func() { _, _ = small.Append(context.Background(), s.MakeAct(store.Attempt{Transcript: 1}, 1)) })
	time.Sleep(50 * time.Millisecond)
	group.Go(func() { _, _ = small.Append(context.Background(), s.MakeAct(store.Attempt{Transcript: 2}, 1)) })
	require.Eventually(t, func() bool { return small.Stats().Waiting == 1 }, 4*time.Second, time.Millisecond)
	_, err = small.Append(t.Context(), s.MakeAct(store.Attempt{Transcript: 3}, 1))
	require.ErrorIs(t, err, store.ErrBusy)
	release()
	group.Wait()
}

// TestFinishAndAppendRace: whoever comes first, no act lies after the finish and
// none that was acknowledged is missing.
func TestFinishAndAppendRace(t *testing.T) {
	s := storetest.New(t)
	p := s.MakePerson("student")
	for range 20 {
		a := s.MakeAttempt(p.ID, "stairs")
		var group sync.WaitGroup
		acked := 0
		group.Go(func() {
			for n := 1; n <= 50; n++ {
				if _, err := s.Append(context.Background(), s.MakeAct(a, n)); err != nil {
					require.ErrorIs(t, err, store.ErrClosed)
					return
				}
				acked = n
			}
		})
		group.Go(func() {
			_, err := s.Finish(context.Background(), a.Transcript, "finished")
			require.NoError(t, err)
		})
		group.Wait()
		all, err := s.Store.Acts(t.Context(), a.Transcript, 0)
		require.NoError(t, err)
		require.Len(t, all, acked)
	}
}

// BenchmarkAppendAlone is one student clicking: nobody to share a commit with.
func BenchmarkAppendAlone(b *testing.B) {
	s := storetest.New(b)
	a := s.MakeAttempt(s.MakePerson("student").ID, "stairs")
	n := 0
	for b.Loop() {
		n++
		act := s.MakeAct(a, n)
		act.Outcome = make([]byte, 700)
		if _, err := s.Append(context.Background(), act); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAppendHall is an examination hall: 256 transcripts at a time.
func BenchmarkAppendHall(b *testing.B) {
	const hall = 256
	s := storetest.New(b)
	p := s.MakePerson("student")
	attempts := make([]store.Attempt, hall)
	for i := range attempts {
		attempts[i] = s.MakeAttempt(p.ID, "stairs")
	}
	var left atomic.Int64
	left.Store(int64(b.N))
	b.ResetTimer()
	var group sync.WaitGroup
	for _, a := range attempts {
		group.Go(func() {
			for n := 1; left.Add(-1) >= 0; n++ {
				act := s.MakeAct(a, n)
				act.Outcome = make([]byte, 700)
				if _, err := s.Append(context.Background(), act); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	group.Wait()
	b.StopTimer()
	b.ReportMetric(float64(s.Stats().Acts)/float64(s.Stats().Groups), "acts/commit")
}
