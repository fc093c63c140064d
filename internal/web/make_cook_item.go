package web

import (
	"net/http"
	"strconv"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// postItem serves POST /cooks/{cook}/items: what else stands in the cook.
func (s *server) postItem(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	item, err := s.addItem(r, f)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCook(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, item.Deed, strconv.Itoa(item.Count)+" "+item.Name+" written down")
	return seeOther(w, r, at("cooks", r.PathValue("cook")))
}

func (s *server) addItem(r *http.Request, f form) (lab.CookItem, error) {
	count, err := f.whole("count", 1, 2000, 0)
	if err != nil {
		return lab.CookItem{}, err
	}
	layer, err := f.whole("layer", 1, 20, 0)
	if err != nil {
		return lab.CookItem{}, err
	}
	stacked, err := f.whole("stacked", 1, 10, 0)
	if err != nil {
		return lab.CookItem{}, err
	}
	return s.farm.AddCookItem(r.Context(), act(r), r.PathValue("cook"), app.NewItem{
		Name: f.Get("item"), Count: count, Kind: f.Get("kind"), Container: f.Get("container"), Layer: layer, Stacked: stacked, Fill: f.Get("fill"),
		Mass: f.Get("mass"), Moisture: f.Get("moisture"), Empty: f.Get("empty"), Mixed: f.Is("mixed", "yes"),
	})
}

// itemKind is a kind of item as it is offered.
type itemKind struct {
	Kind lab.ItemKind
	Says string
}

// ItemKinds are the kinds of item.
func (p *cookPage) ItemKinds() []itemKind {
	return []itemKind{{lab.LiquidItem, "Bottles of a liquid"}, {lab.FillItem, "Jars or bags of substrate"}, {lab.ToolItem, "Tools, empty jars"}}
}
