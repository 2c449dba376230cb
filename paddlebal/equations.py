"""The equations of a paddle's roll, derived with sympy; nothing numeric.

Frames
    Body axes x, y, z are fixed to the shaft, origin O at its mid-length: x runs along the shaft
    from the left blade to the right one. World axes: X to the paddler's right, Y forward, Z up.
    The body is brought from the world axes by the inclination beta (right end up) and then by
    the roll theta (right-hand rule about +x).

Each function returns an `Equation`: its arguments and the expression they stand in. The
numeric functions of `paddlebal.compiled` are generated from these and never retyped.
"""

from functools import cache
from typing import NamedTuple

import sympy as sp

theta, theta_rest, beta = sp.symbols("theta theta_rest beta", real=True)


U, g, M, I_x, R = sp.symbols("U g M I_x R", positive=True)


U_y, U_z, S_x, S_y, S_z = sp.symbols("U_y U_z S_x S_y S_z", real=True)


I_O = sp.symbols("I_xx I_xy I_xz I_yy I_yz I_zz", real=True)


I_xx, I_xy, I_xz, I_yy, I_yz, I_zz = I_O


omega = sp.symbols("omega_x omega_y omega_z", real=True)


domega = sp.symbols("domega_x domega_y domega_z", real=True)


accel = sp.symbols("a_X a_Y a_Z", real=True)


veloc = sp.symbols("v_X v_Y v_Z", real=True)


m, d, phi = sp.symbols("m d phi", positive=True)


A, u = sp.symbols("A u", positive=True)


F, F_0, L, M_f, turning, M_c, L_c = sp.symbols("F F_0 L M_f turning M_c L_c", real=True)


t = sp.Symbol("t")  # as sympy.physics.mechanics writes time


class Equation(NamedTuple):
    """An expression and the symbols it depends on, in the order a caller gives them."""

    arguments: tuple[sp.Basic, ...]
    expression: sp.Expr


def body_to_world():
    """Rotation matrix (3, 3) from body axes to world axes at roll theta and inclination beta."""
    incline = sp.rot_ccw_axis2(-beta)
    return incline * sp.rot_ccw_axis1(theta)


def potential_energy():
    """Energy [J] of the paddle's weight, g times the height of its first moment."""
    first_moment = sp.Matrix([S_x, U_y, U_z])
    height = (body_to_world() * first_moment)[2]
    return Equation((S_x, U_y, U_z, theta, beta, g), sp.expand(g * height))


def roll_torque():
    """Torque [N·m] of gravity about +x: minus the slope of the potential energy."""
    return Equation(
        (U_y, U_z, theta, beta, g), sp.factor(-potential_energy().expression.diff(theta))
    )


def roll_torque_about_rest():
    """The same torque by the size U of the unbalance and the rest angle."""
    direction = -sp.pi / 2 - theta_rest
    expression = roll_torque().expression.subs(
        {U_y: U * sp.cos(direction), U_z: U * sp.sin(direction)}
    )
    return Equation((U, theta_rest, theta, beta, g), sp.trigsimp(sp.expand(expression)))


def two_blades():
    """Unbalance vector [kg·m] of two equal blades, the control blade's offset along +y.

    The other blade's offset stands at -phi: turning the shaft by +phi brings it forward.
    """
    offsets = (sp.Matrix([d, 0]), sp.Matrix([d * sp.cos(phi), -d * sp.sin(phi)]))
    return Equation((m, d, phi), m * (offsets[0] + offsets[1]))


def pull_arm():
    """Arm [m], positive about +x, of a pull on the paddle, from its virtual work.

    The pull acts along the unit vector (n_Y, n_Z) at the point (p_Y, p_Z) seen from the shaft
    axis. Rolling forward-side-up by dtheta, the axis goes back by `travel` dtheta: 0 on
    rollers, R on rails, where the lowest line of the shaft then stays put.
    """
    p_Y, p_Z, n_Y, n_Z, travel = sp.symbols("p_Y p_Z n_Y n_Z travel", real=True)
    roll = sp.Symbol("dtheta", real=True)
    point = sp.rot_ccw_axis1(roll)[1:, 1:] * sp.Matrix([p_Y, p_Z]) - sp.Matrix([travel * roll, 0])
    path = point.diff(roll).subs(roll, 0)
    return Equation((p_Y, p_Z, n_Y, n_Z, travel), path.dot(sp.Matrix([n_Y, n_Z])))


def pull_balance():
    """Moment left over [N·m] about +x as a pull turns the paddle slowly: zero.

    The scale shows F, its zero F_0 included, on the arm L; a clamp of mass M_c has its centre
    at L_c, horizontally; gravity acts on the paddle; friction M_f opposes the turning, which is
    +1 about +x and -1 the other way.
    """
    weight = roll_torque().expression.subs(beta, 0)
    expression = (F - F_0) * L - M_c * g * L_c + weight - turning * M_f
    return Equation((U_y, U_z, M_f, F_0, theta, F, L, M_c, L_c, turning, g), expression)


def pull_equation():
    """The balance as a linear equation in (U_y, U_z, M_f, F_0): their four factors, then the
    moment [N·m] that they add up to."""
    unknowns = (U_y, U_z, M_f, F_0)
    balance = pull_balance()
    factors, moment = sp.linear_eq_to_matrix([-balance.expression], unknowns)
    known = tuple(symbol for symbol in balance.arguments if symbol not in unknowns)
    return Equation(known, (*factors, *moment))


def pull_sensitivities():
    """Slopes of the balance with the quantities read: F, theta, L and L_c."""
    balance = pull_balance()
    slopes = tuple(balance.expression.diff(symbol) for symbol in (F, theta, L, L_c))
    return Equation(balance.arguments, slopes)


def angle_error_residual():
    """Size [kg·m] of what a counterweight leaves that is right but for its angle by delta.

    The residual U + m r e is U minus the same vector turned by delta.
    """
    half, delta = sp.symbols("h delta", real=True)
    unbalance = sp.Matrix([U, 0])
    residual = unbalance - sp.rot_ccw_axis3(2 * half)[:2, :2] * unbalance
    size = sp.sqrt(sp.trigsimp(residual.dot(residual)))
    return Equation((U, delta), size.subs(half, delta / 2))


def fixed_axis_lagrangian(angle, rate):
    """Lagrangian [J] of a swing about the shaft's own axis, `angle` from rest."""
    return I_x * rate**2 / 2 + g * U * sp.cos(angle)


def rolling_lagrangian(angle, rate):
    """Lagrangian [J] of a swing in which the shaft rolls on rails without slip.

    The axis moves by R times the roll; the centre of mass hangs U / M below it.
    """
    e = U / M
    clock = sp.Function("q")(t)
    centre = sp.Matrix([R * clock - e * sp.sin(clock), R - e * sp.cos(clock)])
    velocity = centre.diff(t).subs(clock.diff(t), rate).subs(clock, angle)
    kinetic = M * velocity.dot(velocity) / 2 + (I_x - M * e**2) * rate**2 / 2
    return sp.expand(sp.trigsimp(sp.expand(kinetic))) + g * U * sp.cos(angle)


Q = sp.Symbol("Q", real=True)


def _swing_acceleration(lagrangian, moment=0):
    q = sp.Function("q")(t)
    L = lagrangian(q, q.diff(t))
    motion = sp.diff(L.diff(q.diff(t)), t) - L.diff(q) - moment
    rate = sp.Symbol("omega", real=True)
    acceleration = sp.solve(motion, q.diff(t, 2))[0].subs(q.diff(t), rate).subs(q, theta)
    return rate, sp.simplify(acceleration)


def fixed_axis_acceleration():
    """Roll acceleration [rad/s²] of the fixed-axis swing, theta from rest."""
    rate, expression = _swing_acceleration(fixed_axis_lagrangian)
    return Equation((theta, rate, U, I_x, g), expression)


def rolling_acceleration():
    """Roll acceleration [rad/s²] of the rolling swing, theta from rest."""
    rate, expression = _swing_acceleration(rolling_lagrangian)
    return Equation((theta, rate, U, I_x, M, R, g), expression)


def braked_rolling_acceleration():
    """The same with a moment Q [N·m] of friction; with R = 0 the axis stays in place."""
    rate, expression = _swing_acceleration(rolling_lagrangian, Q)
    return Equation((theta, rate, U, I_x, M, R, g, Q), expression)


def braked_rolling_slopes():
    """Slopes of that acceleration with the angle [1/s²], the rate [1/s] and Q [1/(kg·m²)]."""
    arguments, acceleration = braked_rolling_acceleration()
    varied = (*arguments[:2], arguments[-1])
    return Equation(arguments, tuple(acceleration.diff(each) for each in varied))


def small_swing():
    """Rate squared [1/s²] of a small free swing about rest: minus the slope of acceleration."""
    (angle, rate, *others), acceleration = rolling_acceleration()
    slope = acceleration.diff(angle).subs({angle: 0, rate: 0})
    return Equation(tuple(others), sp.simplify(-slope))


def small_swing_inertia():
    """Roll inertia [kg·m²] from the small swing's rate squared kappa, then its slopes with
    kappa and U."""
    kappa = sp.Symbol("kappa", positive=True)
    (inertia,) = sp.solve(sp.Eq(kappa, small_swing().expression), I_x)
    slopes = (inertia.diff(kappa), inertia.diff(U))
    return Equation((kappa, U, M, R, g), (sp.expand(inertia), *slopes))


def small_swing_unbalance():
    """Size of the unbalance [kg·m] from the small swing's rate squared and the roll inertia."""
    kappa = sp.Symbol("kappa", positive=True)
    (size,) = sp.solve(sp.Eq(kappa, small_swing().expression), U)
    return Equation((kappa, I_x, M, R, g), size)


def _period_integrand(lagrangian):
    """Integrand over u in 0 .. pi/2 of a swing's period, from its energy.

    With sin(theta/2) = sin(A/2) sin(u) the energy 0 = T(theta') + V(theta) - V(A) gives
    d theta / d t without a singularity at the turning point.
    """
    rate = sp.Symbol("omega", real=True)
    inertia = lagrangian(theta, rate).diff(rate, 2)
    k = sp.sin(A / 2)
    cosine = 1 - 2 * k**2 * sp.sin(u) ** 2
    return 4 * sp.sqrt(inertia.subs(sp.cos(theta), cosine) / (g * U * (1 - k**2 * sp.sin(u) ** 2)))


def fixed_axis_period_integrand():
    """Integrand over u in 0 .. pi/2 of the fixed-axis period [s] at amplitude A."""
    return Equation((u, A, U, I_x, g), _period_integrand(fixed_axis_lagrangian))


def rolling_period_integrand():
    """Integrand over u in 0 .. pi/2 of the rolling period [s] at amplitude A."""
    return Equation((u, A, U, I_x, M, R, g), _period_integrand(rolling_lagrangian))


def compared(mine, theirs):
    """Both expressions, or matrices, with = between them if they are the same for every value of
    their symbols, and with ≠ if that cannot be shown."""
    difference = sp.simplify(sp.expand(mine - theirs))
    same = difference == difference * 0
    return (sp.Eq if same else sp.Ne)(mine, theirs, evaluate=False)


@cache
def particle_load():
    """What holds one particle on its path: force, and moment about O, in body axes.

    Returns the six components (force, then moment) and the symbols (mass, x, y, z).
    """
    mass, x, y, z = sp.symbols("m_i x_i y_i z_i", real=True)
    from sympy.physics.mechanics import Point, ReferenceFrame, dynamicsymbols

    world, body = ReferenceFrame("N"), ReferenceFrame("B")
    spin = [dynamicsymbols(name) for name in ("w_x", "w_y", "w_z")]
    body.set_ang_vel(world, sum((s * e for s, e in zip(spin, body, strict=True)), 0 * body.x))
    origin, place = Point("O"), Point("P")
    from_gravity = body_to_world().T * (sp.Matrix(accel) + sp.Matrix([0, 0, g]))
    origin.set_acc(world, sum((c * e for c, e in zip(from_gravity, body, strict=True)), 0 * body.x))
    arm = x * body.x + y * body.y + z * body.z
    place.set_pos(origin, arm)
    force = mass * place.a2pt_theory(origin, world, body)
    load = sp.Matrix([force.to_matrix(body), arm.cross(force).to_matrix(body)])
    load = load.subs({s.diff(t): a for s, a in zip(spin, domega, strict=True)})
    load = load.subs(dict(zip(spin, omega, strict=True)))
    return sp.expand(load), (mass, x, y, z)


def particle_moment():
    """Moment about O that holds one particle on its path, by components in body axes.

    Returns the three components and the symbols (mass, x, y, z) of the particle.
    """
    load, particle = particle_load()
    return load[3:, 0], particle


def _over_paddle(expression, particle):
    """A particle's expression, linear in its mass, summed over the paddle.

    The sums of mass times products of coordinates are the mass, the first moment and the
    inertia about O.
    """
    mass, x, y, z = particle
    sums = {
        (0, 0, 0): M,
        (1, 0, 0): S_x, (0, 1, 0): S_y, (0, 0, 1): S_z,
        (1, 1, 0): -I_xy, (1, 0, 1): -I_xz, (0, 1, 1): -I_yz,
        (2, 0, 0): (I_yy + I_zz - I_xx) / 2,
        (0, 2, 0): (I_xx + I_zz - I_yy) / 2,
        (0, 0, 2): (I_xx + I_yy - I_zz) / 2,
    }  # fmt: skip
    terms = sp.Poly(expression, x, y, z).terms()
    return sp.expand(sum(factor / mass * sums[powers] for powers, factor in terms))


@cache
def roll_moment():
    """Moment [N·m] about +x that the hands must supply to a moving paddle.

    The particle's moment summed over the paddle: it is linear in the products of mass and
    coordinates, and their sums are the first moment S and the inertia about O.
    """
    moment, particle = particle_moment()
    total = _over_paddle(moment[0], particle)
    arguments = (S_y, S_z, *I_O, theta, *omega, *domega, *accel, beta, g)
    return Equation(arguments, sp.collect(total, (S_y, S_z, *I_O)))


def roll_moment_parts():
    """The roll moment [N·m] in four parts that sum to it.

    Gravity; roll inertia, I_xx times the roll's acceleration; the other terms in the inertia
    tensor (products of inertia and gyroscopic); the acceleration of O on the first moment.
    """
    arguments, total = roll_moment()
    total = sp.expand(total)
    gravity = g * total.coeff(g)
    roll_inertia = I_xx * domega[0] * total.coeff(I_xx * domega[0])
    acceleration = sum(a * total.coeff(a) for a in accel)
    others = sp.expand(total - gravity - roll_inertia - acceleration)
    return Equation(arguments, (gravity, roll_inertia, others, acceleration))


def roll_moment_rows():
    """Factors of S_y, S_z, I_xx, I_xy, I_xz, I_yy, I_yz, I_zz in the roll moment.

    The roll moment is linear in these mass properties, so for many paddles on one motion it
    is a matrix product.
    """
    arguments, total = roll_moment()
    properties, motion = arguments[:8], arguments[8:]
    return Equation(motion, tuple(sp.Matrix([total]).jacobian(properties)))


def hand_load():
    """Force [N] of the hands at O and moment [N·m] about O, six components in body axes."""
    load, particle = particle_load()
    arguments = (M, S_x, S_y, S_z, *I_O, theta, *omega, *domega, *accel, beta, g)
    return Equation(arguments, tuple(_over_paddle(part, particle) for part in load))


def kinetic_energy():
    """Kinetic energy [J], O moving with (v_X, v_Y, v_Z) in world axes."""
    mass, x, y, z = particle = sp.symbols("m_i x_i y_i z_i", real=True)
    speed = body_to_world().T * sp.Matrix(veloc)
    speed += sp.Matrix(omega).cross(sp.Matrix([x, y, z]))
    energy = _over_paddle(sp.expand(mass * speed.dot(speed) / 2), particle)
    return Equation((M, S_x, S_y, S_z, *I_O, theta, *omega, *veloc, beta), energy)


def body_rates():
    """Angular velocity [rad/s] and acceleration [rad/s²] in body axes, six components.

    The shaft is brought from the world axes by the yaw psi about Z (right end forward), the
    inclination beta (right end up) and the roll theta about itself; the arguments are theta,
    beta, psi, then their rates, then their accelerations.
    """
    from sympy.physics.mechanics import ReferenceFrame, dynamicsymbols

    world, body = ReferenceFrame("N"), ReferenceFrame("B")
    q = roll, incline, yaw = [dynamicsymbols(name) for name in ("q_theta", "q_beta", "q_psi")]
    body.orient_body_fixed(world, (yaw, -incline, roll), "ZYX")
    spin = body.ang_vel_in(world).to_matrix(body)
    components = sp.Matrix([spin, spin.diff(t)])
    symbols = [sp.symbols(f"theta{order} beta{order} psi{order}") for order in ("_0", "_1", "_2")]
    for order in (2, 1, 0):
        names = zip(q, symbols[order], strict=True)
        components = components.subs({angle.diff(t, order): name for angle, name in names})
    return Equation(sum(symbols, ()), tuple(components))


def stroke_path():
    """The paddle's coordinates over a stroke cycle, then their first and second derivatives.

    Roll, inclination and yaw [rad], then the place of O [m] in axes that move with the boat,
    by the phase: the right blade's stroke is centred on pi/2, the left one's on 3 pi/2. The
    roll dwells at each catch angle, flat to the third order, and turns over in between.
    """
    phase, right, left = sp.symbols("phase theta_right theta_left", real=True)
    names = "beta_max psi_max s_X s_Y s_Z"
    amplitudes = incline, yaw, sway, surge, heave = sp.symbols(names, real=True)
    turn = sp.sin(sp.pi / 2 * sp.sin(phase))
    path = sp.Matrix(
        [
            (right + left) / 2 + (right - left) / 2 * turn,
            -incline * sp.sin(phase),
            yaw * sp.cos(phase),
            sway * sp.sin(phase),
            surge * sp.cos(2 * phase),
            heave * sp.cos(2 * phase),
        ]
    )
    derivatives = [entry for order in range(3) for entry in path.diff(phase, order)]
    return Equation((phase, right, left, *amplitudes), tuple(derivatives))


def body_components():
    """A vector's components in body axes from those in world axes."""
    vector = sp.Matrix(veloc)
    return Equation((*veloc, theta, beta), tuple(body_to_world().T * vector))


def level_components():
    """A vector's components in axes turned by the yaw about Z, from the boat's axes."""
    yaw = sp.Symbol("psi_0")
    return Equation((yaw, *veloc), tuple(sp.rot_ccw_axis3(yaw).T * sp.Matrix(veloc)))


def grip_force():
    """Grip [N] that just holds a torque by friction, the hand pressing from two sides.

    Fingers and palm press with the grip G on opposite faces of a cylinder of diameter D; each
    face holds mu G on the arm D/2. So tau = mu G D.
    """
    tau, mu, D, G = sp.symbols("tau mu D G", positive=True)
    held = 2 * (mu * G) * (D / 2)
    (grip,) = sp.solve(sp.Eq(held, tau), G)
    return Equation((tau, mu, D), grip)


def grip_force_even():
    """The same grip, measured across a diameter, the hand pressing evenly all round.

    p is the force for each unit of arc; its part across a diameter, over one half of the
    circumference, is what a split cylinder would read.
    """
    tau, mu, D, p, arc = sp.symbols("tau mu D p varphi", positive=True)
    held = sp.integrate(mu * p * (D / 2) * (D / 2), (arc, 0, 2 * sp.pi))
    across = sp.integrate(p * sp.sin(arc) * (D / 2), (arc, 0, sp.pi))
    (pressure,) = sp.solve(sp.Eq(held, tau), p)
    return Equation((tau, mu, D), across.subs(p, pressure))


gamma, x_p, x_b, y_b, z_b = sp.symbols("gamma x_p x_b y_b z_b", real=True)


arm = sp.symbols("r_c", positive=True)


def crank_rotation():
    """Rotation matrix (3, 3) of a blade bent back by the crank gamma: about +z."""
    return sp.rot_ccw_axis3(gamma)


def cranked_centre():
    """Where the crank brings the centre of mass (x_b, y_b, z_b) of a straight blade.

    The blade turns as a rigid body about the point x_p of the shaft axis, away from the power
    face.
    """
    point = sp.Matrix([x_p, 0, 0])
    centre = crank_rotation() * (sp.Matrix([x_b, y_b, z_b]) - point) + point
    return Equation((x_b, y_b, z_b, x_p, gamma), tuple(centre))


def cranked_design():
    """What the crank does to a paddle of two equal blades, one the mirror image of the other.

    Five quantities: the blade's offset [m]; the size of the unbalance [kg·m]; the torque
    [N·m] the hand holds at the catch of the control side and at the other catch; and the mass
    [kg] of the counterweight on the arm r_c that balances it.
    """
    offset = sp.Symbol("d", real=True)
    control = sp.Matrix([offset, z_b])
    unbalance = m * (control + sp.rot_ccw_axis3(-phi)[:2, :2] * control)
    size = sp.sqrt(sp.factor(sp.trigsimp(sp.expand(unbalance.dot(unbalance)))))
    torque = roll_torque().expression.subs({U_y: unbalance[0], U_z: unbalance[1], beta: 0})
    holding = [sp.trigsimp(sp.expand(-torque.subs(theta, catch))) for catch in (0, phi)]
    design = (offset, size, *holding, size / arm)
    cranked = {offset: cranked_centre().expression[1]}
    arguments = (m, x_b, y_b, z_b, x_p, gamma, phi, arm, g)
    return Equation(arguments, tuple(part.subs(cranked) for part in design))


def cranked_design_slope():
    """Slopes of the five quantities of `cranked_design` with the crank, each per radian."""
    arguments, design = cranked_design()
    return Equation(arguments, tuple(part.diff(gamma) for part in design))


def two_planes():
    """Correction in the planes x_left and x_right for unbalance and couple unbalance.

    One component across the shaft at a time: U [kg·m], C about O [kg·m²]; kg·m each.
    """
    U, C, x_left, x_right, left, right = sp.symbols("U C x_left x_right V_left V_right", real=True)
    static = sp.Eq(U + left + right, 0)
    couple = sp.Eq(C + x_left * left + x_right * right, 0)
    solution = sp.solve([static, couple], [left, right])
    return Equation((U, C, x_left, x_right), (solution[left], solution[right]))


def couple_moment():
    """Moment [N·m] across the shaft that holds couple unbalance C rolling about the shaft.

    Components along y and z in body axes, from the hands' load with roll rate omega_x and
    roll acceleration domega_x alone, about O at rest; C is minus (I_xy, I_xz).
    """
    C_y, C_z = sp.symbols("C_y C_z", real=True)
    arguments, load = hand_load()
    kept = {I_xy: -C_y, I_xz: -C_z, omega[0]: omega[0], domega[0]: domega[0]}
    rolling = {symbol: kept.get(symbol, 0) for symbol in arguments}
    moment = tuple(part.subs(rolling, simultaneous=True) for part in load[4:])
    return Equation((C_y, C_z, omega[0], domega[0]), moment)
