"""The model of learning written out once more, whole and slow, as its description says; the program never builds it so."""

import dataclasses

import numpy as np

from tests.radio.learning_world import BOTH, truth

SPOTS = truth("brick")[1]


def one_scale(learned):
    """The same, believing the likeliest scale alone, so that everything is one normal distribution."""
    solved = learned.solved
    k = int(solved.weight.argmax())
    one = {name: getattr(solved, name)[[k]] for name in ("evidence", "prior_cov", "prior_rows", "site_db", "site_db2")}
    alone = dataclasses.replace(solved, scales=(solved.scales[k],), weight=np.ones(1), **one)
    return dataclasses.replace(learned, solved=alone)


def conditioned(learned, ground, readings, targets, k, *, device):
    """Mean and covariance of the targets' levels given the readings under scale k; with the device's offset or without."""
    w, every, split = ground.weighed, [*readings, *targets], len(readings)
    names, skins = learned.prior.senders, len(learned.prior.skins)
    bands = np.array([BOTH.index(one.band) for one in every])
    senders = np.array([names.index(one.sender) for one in every])
    points = np.array([SPOTS.index(one.spots[0]) for one in every])
    moves = np.zeros((len(every), 1 + 2 * skins))
    moves[:, 0] = -10 * w.log_distance[senders, points]
    for i, b in enumerate(bands):
        moves[i, 1 + b * skins : 1 + (b + 1) * skins] = -w.crossings[b, senders[i], points[i]]
    spots = np.array([SPOTS[p] for p in points]) * [1, 1, 2]
    away = np.linalg.norm(spots[:, None] - spots[None], axis=2)
    own = 0.3 * learned.prior.wall_db[bands] ** 2
    walls = (own * w.crossings[bands, senders, points]).sum(axis=1)
    field = np.sqrt(16 + walls)
    same, alike = np.equal.outer(senders, senders), np.equal.outer(bands, bands)
    power = np.array(learned.prior.power_db)[senders]
    has = np.array([1.0] * split + [float(device)] * len(targets))
    scale = learned.solved.scales[k].field_factor
    cov = (
        moves @ learned.solved.prior_cov[k] @ moves.T
        + same * np.where(alike, 1, 0.5) * np.outer(power, power)
        + scale**2 * same * np.where(alike, 1, 0.6) * np.outer(field, field) * np.exp(-away / 3)
        + (16 + alike) * np.outer(has, has)
    )
    base = w.level_dbm[bands, senders, points] - moves[:, 1:] @ w.change_db.ravel() - 4 * has
    read = cov[:split, :split] + np.diag([one.noise_db**2 for one in readings])
    gain = cov[split:, :split] @ np.linalg.inv(read)
    mean = base[split:] + gain @ (np.array([one.level_dbm for one in readings]) - base[:split])
    return mean, cov[split:, split:] - gain @ cov[:split, split:]
