package web

import (
	"errors"
	"mime/multipart"
	"net/http"
	"strings"

	"pinset/internal/datapackage"
	"pinset/internal/lab"
)

// rule says who may use a route and what it may do.
type rule string

// The rules. A route without one fails a test.
const (
	open  rule = "open"  // anybody: the door, assets, health. Shows and changes no records
	read  rule = "read"  // viewers and up. Changes nothing
	knows rule = "knows" // whoever knows a secret address. Shows what it was made for, changes no records
	enter rule = "enter" // hands and up, from our own pages. Changes records
	token rule = "token" // programs, by the role of their token; without one as read, or for an owner
	own   rule = "own"   // owners, from our own pages. Changes the farm and who may come in, or shows that
)

// least is the role that a device needs at least, "" for none.
func (u rule) least() lab.Role {
	switch u {
	case open, knows, token:
		return "" // a token is asked for by admitsProgram
	case read:
		return lab.Viewer
	case enter:
		return lab.Hand
	}
	return lab.Owner // an unknown rule lets nobody else through
}

// The bounds on what a request may carry.
const (
	formBytes = 256 << 10
	fileBytes = 8 << 20

	photoBytes = 16 << 20 // a phone's camera at its best

	packageBytes = datapackage.MostZipBytes + formBytes // a zip file and the form around it

	photosBytes = photoEntries * photoBytes // several at once
	heldBytes   = fileBytes                 // of what was sent, in memory; the rest is on the disk
)

// route is one row of the table of routes.
type route struct {
	pattern string // of http.ServeMux
	rule    rule
	bytes   int64 // most that the body may hold
	serve   func(*server, http.ResponseWriter, *http.Request) error
}

// most is the most that the body of r may hold. Only files, which come in
// parts, may be larger than is kept in memory.
func (rt route) most(r *http.Request) int64 {
	if inParts(r) {
		return rt.bytes
	}
	return min(rt.bytes, heldBytes)
}

func inParts(r *http.Request) bool {
	return strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/")
}

// routes lists every route. The order is that of the sections.
var routes = []route{
	{"GET /healthz", open, 0, (*server).getHealth},
	{"GET /static/{file}", open, 0, (*server).getAsset},
	{"GET /login", open, 0, (*server).getLogin},
	{"POST /login", open, formBytes, (*server).postLogin},
	{"GET /pair", open, 0, (*server).getPair},
	{"POST /pair", open, formBytes, (*server).postPair},
	{"POST /logout", open, formBytes, (*server).postLogout},
	{"GET /worker.js", open, 0, (*server).getWorker},
	{"GET /away", open, 0, (*server).getAway},
	{"GET /trust", open, 0, (*server).getTrust},
	{"GET /trust/pinset.crt", open, 0, (*server).getAuthority},
	{"POST /lamp", open, formBytes, (*server).postLamp},

	{"GET /{$}", read, 0, (*server).getToday},
	{"GET /forecast", read, 0, (*server).getForecast},
	{"POST /today", enter, formBytes, (*server).postTodayDone},
	{"POST /tour", enter, formBytes, (*server).postTour},
	{"GET /plan", read, 0, (*server).getPlan},
	{"GET /plan/day", read, 0, (*server).getPlanDay},
	{"GET /plan/trial", read, 0, (*server).getPlanTrial},
	{"GET /plan/again", read, 0, (*server).getPlanAgain},
	{"GET /plan/batch", read, 0, (*server).getPlanBatch},
	{"POST /plan/draft", enter, formBytes, (*server).postDraft},
	{"POST /plan/keep", enter, formBytes, (*server).postKeep},
	{"GET /batches", read, 0, (*server).getBatches},
	{"GET /batches/{batch}", read, 0, (*server).getBatch},
	{"GET /batches/{batch}/bench", read, 0, (*server).getBench},
	{"GET /batches/{batch}/bench.pdf", read, 0, (*server).getBenchPDF},
	{"POST /batches/{batch}/makings", enter, formBytes, (*server).postMaking},
	{"GET /batches/{batch}/check", read, 0, (*server).getCheck},
	{"GET /batches/{batch}/inoculate", read, 0, (*server).getInoculate},
	{"POST /batches/{batch}/inoculate", enter, formBytes, (*server).postInoculate},
	{"GET /batches/{batch}/list/{list}", read, 0, (*server).getSession},
	{"GET /batches/{batch}/list/{list}/sheet.pdf", read, 0, (*server).getSessionPDF},
	{"POST /batches/{batch}/list/weigh", enter, formBytes, (*server).postWeighCard},
	{"GET /cooks/{cook}/list", read, 0, (*server).getSession},
	{"GET /cooks/{cook}/list.pdf", read, 0, (*server).getSessionPDF},
	{"GET /batches/{batch}/rounds", read, 0, (*server).getRounds},
	{"POST /batches/{batch}/rounds", enter, formBytes, (*server).postRounds},
	{"GET /batches/{batch}/photos", read, 0, (*server).getBatchPhotos},
	{"POST /batches/{batch}/photos", enter, photosBytes, (*server).postBatchPhotos},
	{"GET /batches/{batch}/weigh", read, 0, (*server).getWeigh},
	{"POST /batches/{batch}/weigh", enter, formBytes, (*server).postWeigh},

	{"GET /trials", read, 0, (*server).getTrials},
	{"GET /trials/{trial}", read, 0, (*server).getTrial},
	{"POST /trials/{trial}/judge", enter, formBytes, (*server).postJudge},
	{"POST /trials/{trial}/key", enter, formBytes, (*server).postOpenKey},
	{"POST /trials/{trial}/light", enter, formBytes, (*server).postLight},
	{"POST /trials/{trial}/redraw", enter, formBytes, (*server).postRedraw},
	{"GET /trials/{trial}/package.zip", read, 0, (*server).getTrialPackage},
	{"GET /trials/{trial}/days", read, 0, (*server).getTrialDays},
	{"GET /trials/{trial}/report", read, 0, (*server).getReport},
	{"GET /trials/{trial}/report.pdf", read, 0, (*server).getReportPDF},
	{"GET /pooled", read, 0, (*server).getPooled},
	{"GET /elsewhere", read, 0, (*server).getElsewhere},
	{"POST /elsewhere", enter, packageBytes, (*server).postElsewhere},
	{"POST /elsewhere/printed", enter, formBytes, (*server).postPrinted},
	{"GET /elsewhere/{guest}", read, 0, (*server).getGuest},
	{"POST /elsewhere/{guest}/names", enter, formBytes, (*server).postGuestNames},
	{"POST /elsewhere/{guest}/aside", enter, formBytes, (*server).postGuestAside},
	{"GET /fouled", read, 0, (*server).getFouled},
	{"GET /supplies", read, 0, (*server).getSupplies},
	{"POST /supplies/ingredients", enter, formBytes, (*server).postIngredient},
	{"POST /supplies/containers", enter, formBytes, (*server).postContainer},
	{"POST /supplies/containers/lid", enter, formBytes, (*server).postLid},
	{"GET /supplies/recipe", read, 0, (*server).getRecipeForm},
	{"POST /supplies/recipe", enter, formBytes, (*server).postRecipeForm},
	{"GET /supplies/found", read, 0, (*server).getFound},
	{"POST /supplies/found", enter, formBytes, (*server).postFound},
	{"GET /ingredients/{ingredient}", read, 0, (*server).getIngredient},
	{"POST /ingredients/{ingredient}", enter, formBytes, (*server).postFigures},
	{"POST /ingredients/{ingredient}/lots", enter, formBytes, (*server).postLot},
	{"GET /recipes/{recipe}", read, 0, (*server).getRecipe},
	{"GET /recipes/{recipe}/ladder", read, 0, (*server).getLadder},
	{"POST /recipes/{recipe}/ladder", enter, formBytes, (*server).postLadder},
	{"GET /labels", read, 0, (*server).getLabels},
	{"POST /labels", enter, formBytes, (*server).postLabels},
	{"GET /labels.pdf", read, 0, (*server).getLabelsPDF},
	{"GET /calibration.pdf", read, 0, (*server).getCalibration},
	{"GET /cultures", read, 0, (*server).getCultures},
	{"POST /cultures", enter, formBytes, (*server).postCultures},
	{"GET /cultures/{culture}", read, 0, (*server).getCulture},
	{"POST /cultures/{culture}", enter, formBytes, (*server).postKeeping},
	{"POST /cultures/{culture}/limit", enter, formBytes, (*server).postCultureLimit},
	{"GET /species", read, 0, (*server).getAllSpecies},
	{"GET /species/{species}", read, 0, (*server).getSpecies},
	{"POST /species/{species}", enter, formBytes, (*server).postTarget},
	{"GET /shelf", read, 0, (*server).getShelf},
	{"GET /rounds", read, 0, (*server).getWalk},
	{"POST /rounds", enter, formBytes, (*server).postWalk},
	{"GET /shelves/{shelf}/rounds", read, 0, (*server).getShelfRounds},
	{"POST /shelves/{shelf}/rounds", enter, formBytes, (*server).postShelfRounds},
	{"POST /shelves/{shelf}/photos", enter, photosBytes, (*server).postShelfPhotos},
	{"GET /j/{code}/photos", read, 0, (*server).getSeries},
	{"POST /j/{code}/photos", enter, photosBytes, (*server).postJarPhotos},
	{"GET /photos/{photo}", read, 0, (*server).getPhoto},
	{"POST /photos/{photo}", enter, formBytes, (*server).postPhoto},
	{"POST /photos/{photo}/remove", own, formBytes, (*server).postPhotoRemove},
	{"GET /photos/{photo}/{file}", read, 0, (*server).getPhotoFile},
	{"GET /j/{code}", read, 0, (*server).getJar},
	{"GET /J/{code}", read, 0, (*server).getJar},
	{"GET /j/{code}/chain", read, 0, (*server).getChain},
	{"POST /j/{code}/seen", enter, formBytes, (*server).postJarSeen},
	{"POST /j/{code}/answer", enter, formBytes, (*server).postAnswer},
	{"GET /b/{name}", read, 0, getLabel(lab.BatchLabel)},
	{"GET /B/{name}", read, 0, getLabel(lab.BatchLabel)},
	{"GET /c/{name}", read, 0, getLabel(lab.CultureLabel)},
	{"GET /C/{name}", read, 0, getLabel(lab.CultureLabel)},
	{"GET /i/{name}", read, 0, getLabel(lab.LotLabel)},
	{"GET /I/{name}", read, 0, getLabel(lab.LotLabel)},
	{"GET /k/{name}", read, 0, getLabel(lab.CookLabel)},
	{"GET /K/{name}", read, 0, getLabel(lab.CookLabel)},
	{"GET /s/{name}", read, 0, getLabel(lab.ShelfLabel)},
	{"GET /S/{name}", read, 0, getLabel(lab.ShelfLabel)},
	{"GET /cooks", read, 0, (*server).getCooks},
	{"POST /cooks", enter, formBytes, (*server).postCooks},
	{"GET /cooks/{cook}", read, 0, (*server).getCook},
	{"POST /cooks/{cook}/mark", enter, formBytes, (*server).postMark},
	{"POST /cooks/{cook}/step", enter, formBytes, (*server).postStep},
	{"POST /cooks/{cook}/items", enter, formBytes, (*server).postItem},
	{"POST /cooks/{cook}/records", enter, fileBytes, (*server).postRecord},
	{"POST /cooks/{cook}/calibrations", enter, formBytes, (*server).postCalibration},
	{"GET /cooks/{cook}/records/{record}", read, 0, (*server).getRecord},
	{"POST /loggers/forget", enter, formBytes, (*server).postForgetLogger},
	{"GET /cookers", read, 0, (*server).getCookers},
	{"POST /cookers", enter, formBytes, (*server).postCookers},
	{"GET /standard", read, 0, (*server).getStandard},
	{"GET /alarms.json", read, 0, (*server).getAlarms},
	{"GET /crop", read, 0, (*server).getCrop},
	{"GET /reckoner", read, 0, (*server).getReckoner},
	{"GET /reckoner/{calc}", read, 0, (*server).getCalc},

	{"GET /all", read, 0, (*server).getAll},
	{"GET /find", read, 0, (*server).getFind},
	{"GET /scan", read, 0, (*server).getScan},
	{"POST /scan", enter, photoBytes, (*server).postScan},
	{"GET /address", read, 0, (*server).getAddress},
	{"POST /address", own, formBytes, (*server).postAddress},
	{"GET /calendar", read, 0, (*server).getCalendar},
	{"POST /calendar", own, formBytes, (*server).postCalendar},
	{"GET /calendar/{key}", knows, 0, (*server).getFeed},
	{"GET /settings", read, 0, (*server).getSettings},
	{"GET /people", own, 0, (*server).getPeople},
	{"POST /people", own, formBytes, (*server).postPeople},
	{"POST /people/{person}/role", own, formBytes, (*server).postRole},
	{"POST /people/{person}/pair", own, formBytes, (*server).postInvite},
	{"POST /devices/out", own, formBytes, (*server).postDevicesOut},
	{"POST /devices/{device}/out", own, formBytes, (*server).postDeviceOut},
	{"POST /settings", own, formBytes, (*server).postSettings},
	{"POST /undo", enter, formBytes, (*server).postUndo},
	{"GET /undo", read, 0, (*server).getUndo},
	{"GET /export/{file}", read, 0, (*server).getExport},
	{"GET /import", read, 0, (*server).getImport},
	{"POST /import", own, fileBytes, (*server).postImport},
	{"POST /import/again", own, formBytes, (*server).postImportAgain},
	{"POST /import/keep", own, formBytes, (*server).postImportKeep},

	{"GET /api/v1/{rest...}", token, 0, (*server).programs},
	{"POST /api/v1/{rest...}", token, fileBytes, (*server).programs},

	{"GET /", read, 0, (*server).getNowhere},
}

// mux returns the routes behind their rules.
func (s *server) mux() *http.ServeMux {
	mux := http.NewServeMux()
	for _, rt := range routes {
		mux.HandleFunc(rt.pattern, func(w http.ResponseWriter, r *http.Request) { s.serve(rt, w, r) })
	}
	return mux
}

// serve holds the route's rule, bounds the body, reads the form and turns an
// error into a page.
func (s *server) serve(rt route, w http.ResponseWriter, r *http.Request) {
	if r.Header.Get(handover) != "" {
		w.Header().Set(handover, "1")
	}
	if rt.rule == token && !s.admitsProgram(w, r) {
		return
	}
	r, through := s.letThrough(rt, w, r)
	if !through {
		return
	}
	if rt.rule == own { // who may come in, and secrets shown once
		w.Header().Set("Cache-Control", "no-store")
	}
	r.Body = http.MaxBytesReader(w, r.Body, rt.most(r))
	err := readForm(r)
	if r.MultipartForm != nil {
		defer s.forget(r.MultipartForm)
	}
	if err == nil {
		s.backdate(r)
		if !s.ofAnother(w, r) {
			err = rt.serve(s, w, r)
		}
	}
	if err != nil {
		s.answer(w, r, err)
	}
}

// forget removes the files of a form that did not fit into memory.
func (s *server) forget(sent *multipart.Form) {
	if err := sent.RemoveAll(); err != nil {
		s.log.Warn("files of a form stay behind", "error", err)
	}
}

// readForm parses what was sent. Small files stay in memory.
func readForm(r *http.Request) error {
	var err error
	if inParts(r) {
		err = r.ParseMultipartForm(heldBytes)
	} else {
		err = r.ParseForm()
	}
	var tooLarge *http.MaxBytesError
	if err == nil || errors.As(err, &tooLarge) {
		return err
	}
	return lab.Invalidf("", "go back and send it again", "what was sent can not be read")
}
