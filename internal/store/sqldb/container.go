package sqldb

import (
	"context"

	"pinset/internal/lab"
)

var containers = &table[lab.Container]{
	name: "container",
	columns: func(c *lab.Container) []column {
		return []column{
			text("id", &c.ID), text("name", &c.Name), nameKey(&c.Name), text("kind", &c.Kind),
			quantity("volume", &c.Volume), quantity("bore", &c.Bore), quantity("height", &c.Height),
			text("note", &c.Note),
		}
	},
	taken: func(_ context.Context, _ *tx, c lab.Container) error {
		return lab.Conflictf("choose another name, or use the one that is there", "a container is called %s already", c.Name)
	},
}

const seeContainers = "look at the list of containers, or add it"

func (t *tx) Containers(ctx context.Context) ([]lab.Container, error) {
	return query(ctx, t, containers, "ORDER BY name_key")
}

func (t *tx) Container(ctx context.Context, id lab.ContainerID) (lab.Container, error) {
	return one(ctx, t, containers, notFound(seeContainers, "there is no container %s", id), "WHERE id = $1", string(id))
}

func (t *tx) ContainerByName(ctx context.Context, name string) (lab.Container, error) {
	return one(ctx, t, containers, notFound(seeContainers, "no container is called %s", name), "WHERE name_key = $1", lab.NameKey(name))
}

func (t *tx) AddContainer(ctx context.Context, c lab.Container) error {
	return add(ctx, t, containers, c)
}

var containerLids = &table[lab.ContainerLid]{
	name: "container_lid",
	columns: func(l *lab.ContainerLid) []column {
		return append(entryColumns(&l.Entry), text("container", &l.Container), text("lid", &l.Lid))
	},
}

func (t *tx) ContainerLids(ctx context.Context) ([]lab.ContainerLid, error) {
	return query(ctx, t, containerLids, "ORDER BY seq")
}

func (t *tx) AddContainerLids(ctx context.Context, l []lab.ContainerLid) error {
	return add(ctx, t, containerLids, l...)
}
