package server

import (
	"context"
	"flag"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	cdp "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

var shots = flag.String("shots", "", "folder into which the browser tests put pictures of every page")

const (
	browserLogin    = "kim"
	browserPassword = "seven quiet otters paddle"
)

// browser is Chromium on a server of its own.
type browser struct {
	t      *testing.T
	ctx    context.Context
	server *Server
	base   string
	who    face.Person
	keys   int         // keys pressed since it was set to 0
	down   atomic.Bool // the connection drops: every request is cut off

	swallow atomic.Bool  // the next act reaches the server, then the connection drops
	mute    atomic.Bool  // sounds and pictures do not come: their connection drops
	stall   atomic.Bool  // sounds do not come yet
	ahead   atomic.Int64 // nanoseconds by which the server's clock was put forward
}

// pass lets time go by for server and page alike.
func (b *browser) pass(d time.Duration) {
	b.t.Helper()
	b.ahead.Add(int64(d))
	b.run(fmt.Sprintf(`{const now = performance.now.bind(performance); performance.now = () => now() + %d}`, d.Milliseconds()))
}

func (b *browser) now() time.Time { return time.Now().Add(time.Duration(b.ahead.Load())) }

// openBrowser starts both. Without Chromium the test is skipped, but not where CI=true.
func openBrowser(t *testing.T, change ...func(*Config)) *browser {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser is slow")
	}
	exe := chromium()
	if exe == "" {
		if os.Getenv("CI") == "true" {
			t.Fatal("CI=true and no chromium, chromium-browser or google-chrome in PATH: the pages were not tested")
		}
		t.Skip("no chromium, chromium-browser or google-chrome in PATH: the pages are not tested in a browser")
	}
	b := &browser{t: t}
	s, err := New(Config{Data: t.TempDir(), Hash: auth.Params{Memory: 64, Time: 1, Threads: 1}, Now: b.now, Draws: 2, Visits: 8, Weigh: 40, Burst: 5000})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	p, err := s.AddPerson(t.Context(), browserLogin, "Kim Example", auth.Student, browserPassword)
	require.NoError(t, err)
	b.server, b.who = s, facePerson(p)
	h := httptest.NewServer(http.HandlerFunc(b.serve))
	t.Cleanup(h.Close)
	b.base = h.URL
	b.launch(exe)
	return b
}

// serve passes requests on, or drops the connection as a cable that is pulled out does.
func (b *browser) serve(w http.ResponseWriter, r *http.Request) {
	if b.down.Load() {
		panic(http.ErrAbortHandler)
	}
	sound := strings.HasSuffix(r.URL.Path, "/sound")
	if b.mute.Load() && (sound || strings.HasSuffix(r.URL.Path, "/picture")) {
		panic(http.ErrAbortHandler)
	}
	for sound && b.stall.Load() {
		time.Sleep(10 * time.Millisecond)
	}
	if strings.HasSuffix(r.URL.Path, "/acts") && b.swallow.CompareAndSwap(true, false) {
		b.down.Store(true) // a browser repeats by itself what it sent over a connection that broke
		b.server.Handler().ServeHTTP(httptest.NewRecorder(), r)
		panic(http.ErrAbortHandler)
	}
	b.server.Handler().ServeHTTP(w, r)
}

// chrome is the one Chromium of all tests, and what stops it; it is started by the
// first test that needs it.
var chrome struct {
	once sync.Once
	ctx  context.Context
	stop func()
	err  error
}

// TestMain stops Chromium at the end. The tests make much garbage and need little
// memory, so that it is collected later than by default.
func TestMain(m *testing.M) {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
	code := m.Run()
	if chrome.stop != nil {
		chrome.stop()
	}
	os.Exit(code)
}

// startChrome starts Chromium with a profile of its own and nothing that calls home.
func startChrome(exe string) {
	profile, err := os.MkdirTemp("", "dewclaw-browser-")
	if err != nil {
		chrome.err = err
		return
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(exe), chromedp.UserDataDir(profile), chromedp.NoSandbox, chromedp.NoFirstRun,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, stopFirst := chromedp.NewContext(alloc)
	chrome.ctx = ctx
	chrome.stop = func() {
		stopFirst()
		stop()
		_ = os.RemoveAll(profile) // Chromium may still be writing to it for a moment
	}
	chrome.err = chromedp.Do(ctx)
}

// oftener has the pages that look at the clock of a sitting, or at its seats, look
// ten times as often, so that no test waits for their next look.
const oftener = `{const wait = window.setTimeout;
	window.setTimeout = (f, ms, ...rest) => wait(f, ms >= 5000 && /\/(turn|seats|waiting)\.js/.test(new Error().stack) ? ms / 10 : ms, ...rest)}`

// launch opens a window of its own, that shares no cookies and nothing kept with
// the others, and that has the focus whichever window is in front.
func (b *browser) launch(exe string) {
	b.t.Helper()
	chrome.once.Do(func() { startChrome(exe) })
	require.NoError(b.t, chrome.err)
	ctx, stopTime := context.WithTimeout(chrome.ctx, 4*time.Minute)
	b.t.Cleanup(stopTime)
	ctx, stopTab := chromedp.NewContext(ctx, chromedp.WithNewBrowserContext())
	b.t.Cleanup(stopTab)
	b.ctx = ctx
	b.do() // opens it
	_, err := chromedp.Call(b.ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	require.NoError(b.t, err)
	_, err = chromedp.Call(b.ctx, cdp.AddScriptToEvaluateOnNewDocument, cdp.AddScriptToEvaluateOnNewDocumentParams{Source: oftener})
	require.NoError(b.t, err)
	b.watchScripts()
	b.size(1280, 900, false)
}

func chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// watchScripts makes every script error, and everything that the content
// security policy blocked, a failure of the test.
func (b *browser) watchScripts() {
	messages := chromedp.Console(b.ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.IsException() || m.Source == "security" || strings.Contains(m.Text, "Content Security Policy") {
				b.t.Errorf("in the browser: %s", m)
			}
		}
	}()
}

func (b *browser) do(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, actions...))
}

func (b *browser) size(width, height int64, mobile bool) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: height, DeviceScaleFactor: 1, Mobile: mobile})
	require.NoError(b.t, err)
}

func (b *browser) open(path string) {
	b.t.Helper()
	var err error
	for range 5 { // a page that was on its way, as after signing in, may cut this one off
		if err = chromedp.Do(b.ctx, chromedp.Navigate(b.base+path)); err == nil || !strings.Contains(err.Error(), "ERR_ABORTED") {
			break
		}
	}
	require.NoError(b.t, err)
}

// value is what an expression of the page yields, as text.
func (b *browser) value(expr string) string {
	b.t.Helper()
	out, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("String("+expr+")"))
	require.NoError(b.t, err)
	return out
}

// run runs a statement in the page.
func (b *browser) run(statement string) {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](statement+`; ""`))
	require.NoError(b.t, err)
}

// until waits until an expression of the page is true.
func (b *browser) until(expr string) {
	b.t.Helper()
	end := time.Now().Add(30 * time.Second)
	for time.Now().Before(end) {
		out, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`String(Boolean(document.readyState === "complete" && (`+expr+`)))`))
		if err == nil && out == "true" { // while a page loads there is nothing to ask
			return
		}
		time.Sleep(40 * time.Millisecond)
	}
	require.Fail(b.t, "never true: "+expr, "status: %s", b.value(`document.querySelector("[data-status]")?.textContent + "; typed: " + document.querySelector("[data-typed-answer]")?.textContent + "; at " + location.pathname `))
}

// says waits for a text in a part of the page.
func (b *browser) says(selector, text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector(%q)?.textContent.includes(%q)`, selector, text))
}

// press types keys into whatever has the focus, and counts them. The character
// goes with its key, as from a keyboard, so that a script that takes the key
// takes the character too.
func (b *browser) press(keys string) {
	b.t.Helper()
	for _, r := range keys {
		b.keys++
		events := kb.Encode(r)
		down := *events[0]
		for _, e := range events {
			if e.Type == kb.KeyChar {
				down.Text, down.UnmodifiedText = e.Text, e.UnmodifiedText
			}
		}
		for _, e := range []input.DispatchKeyEventParams{down, *events[len(events)-1]} {
			_, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, e)
			require.NoError(b.t, err)
		}
	}
}

// fill types into a field, once it is there.
func (b *browser) fill(selector, text string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector(%q)`, selector))
	b.run(fmt.Sprintf(`document.querySelector(%q).focus()`, selector))
	b.press(text)
}

// click presses the mouse where an element is.
func (b *browser) click(selector string) {
	b.t.Helper()
	b.until(fmt.Sprintf(`document.querySelector(%q)?.getClientRects().length`, selector))
	b.do(chromedp.Click(chromedp.CSS(selector)))
}

func (b *browser) saved() {
	b.t.Helper()
	b.until(`document.querySelector("[data-status]").textContent === "saved"`)
}

func (b *browser) signIn(login, password string) {
	b.t.Helper()
	b.open("/")
	b.until(`location.pathname === "/login"`)
	b.fill("#login", login)
	b.fill("#password", password+"\r")
	b.until(`location.pathname === "/"`)
}

// shot checks what a machine can check of a page, and takes its pictures where they are wanted.
func (b *browser) shot(name string) {
	b.t.Helper()
	b.accessible(name)
	if *shots == "" {
		return
	}
	require.NoError(b.t, os.MkdirAll(*shots, 0o755))
	for _, scheme := range []string{"light", "dark"} {
		b.media(&emulation.MediaFeature{Name: "prefers-color-scheme", Value: scheme})
		for device, size := range map[string][2]int64{"phone": {390, 844}, "desktop": {1280, 900}} {
			b.size(size[0], size[1], device == "phone")
			b.do(chromedp.Sleep(150 * time.Millisecond))
			png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
			require.NoError(b.t, err)
			require.NoError(b.t, os.WriteFile(filepath.Join(*shots, fmt.Sprintf("%s-%s-%s.png", name, device, scheme)), png, 0o644))
		}
	}
	b.media()
	b.size(1280, 900, false)
}

func (b *browser) media(features ...*emulation.MediaFeature) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
	require.NoError(b.t, err)
}

// tooWide names what sticks out of a page that is 320 CSS px wide, which is
// 1280 px at 400 % (WCAG 2.2, 1.4.10). Tables may scroll by themselves.
const tooWide = `[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > 321 && e.checkVisibility() && !e.closest(".scroll, svg, .unseen, .skip")).slice(0, 5).map((e) => e.tagName + "." + e.className + " " + e.textContent.trim().slice(0, 40)).join(" | ")`

// tooSmall names controls below 24 px (WCAG 2.2, 2.5.8).
const tooSmall = `[...document.querySelectorAll("button, select, input:not([type=hidden]), summary")].filter((e) => { const r = e.getBoundingClientRect(); return r.height > 0 && (r.height < 24 || r.width < 24) && !e.closest("label") }).slice(0, 5).map((e) => e.outerHTML.slice(0, 90)).join(" | ")`

// axeRun runs axe-core's rules for WCAG 2.2 AA.
const axeRun = `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}).then((r) => r.violations.map((v) => v.id + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.failureSummary).join(" | ")).join("\n"))`

// accessible holds a page against what a machine can check; axe-core too, where
// DEWCLAW_TEST_AXE names its script.
func (b *browser) accessible(name string) {
	b.t.Helper()
	b.size(320, 640, true)
	b.do(chromedp.Sleep(80 * time.Millisecond))
	require.Empty(b.t, b.value(tooWide), "%s: wider than 320 px", name)
	require.Empty(b.t, b.value(tooSmall), "%s: targets below 24 px", name)
	b.size(1280, 900, false)
	b.do(chromedp.Sleep(80 * time.Millisecond))
	script := os.Getenv("DEWCLAW_TEST_AXE")
	if script == "" {
		return
	}
	axe, err := os.ReadFile(script)
	require.NoError(b.t, err)
	b.run(string(axe))
	for _, scheme := range []string{"light", "dark"} {
		b.media(&emulation.MediaFeature{Name: "prefers-color-scheme", Value: scheme})
		found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](axeRun, chromedp.EvalAwaitPromise))
		require.NoError(b.t, err)
		require.Empty(b.t, found, "%s, %s: axe-core", name, scheme)
	}
	b.media()
}
